"""Making the data folder: whole or not at all, and never another version's."""

import logging
import os
import shutil
import subprocess
from datetime import UTC, datetime
from pathlib import Path

from program.config.embedded_postgres import binaries, locations, server
from program.config.embedded_postgres.locations import EmbeddedPostgresError, Place

MAJOR_VERSION = "18"

_log = logging.getLogger(__name__)


def create(place: Place, lock: int) -> None:
    """Run initdb beside the final folder and move the whole result there at once.

    initdb holds the lock too: it may outlive this process, and the next start must wait for it.
    """
    if place.half_made.exists():
        shutil.rmtree(place.half_made)
    if place.kept_apart:
        _say_where_the_data_is(place)
    locations.make_folder(place.half_made, mode=0o700, account=place.account)
    with binaries.safe_for_the_shell(binaries.within_reach(place.account)) as folder:
        initdb = subprocess.run(  # noqa: S603
            [
                folder / binaries.INSTALLED / "bin" / "initdb",
                f"--pgdata={place.half_made}",
                f"--username={server.SUPERUSER}",
                "--encoding=UTF8",
                "--locale=C",
                "--locale-provider=builtin",
                "--builtin-locale=C.UTF-8",
                "--auth-local=trust",
                "--auth-host=reject",
                "--no-instructions",
                "--sync-method=syncfs",
            ],
            **binaries.run_as_server(place),
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
            pass_fds=(lock,),
        )
    if initdb.returncode != 0:
        raise EmbeddedPostgresError(
            f"initdb could not make {place.half_made}:\n{initdb.stderr.strip()}\n"
            + locations.ANOTHER_WAY
        )
    place.half_made.rename(place.cluster)
    _flush(place.home)


def _say_where_the_data_is(place: Place) -> None:
    assert place.account is not None  # noqa: S101 -- only root's data is ever kept apart
    sentence = (
        f"The data of {place.requested} is kept in {place.home}: Postgres runs as the account "
        f"{place.account.pw_name}, which cannot reach that folder."
    )
    place.note.write_text(sentence + "\n")
    _log.warning(sentence)


def set_aside_data_of_a_folder_now_gone(place: Place) -> None:
    """Data kept apart for a folder since removed is not the new folder's, nor ours to delete."""
    if not place.kept_apart or place.note.exists() or not place.cluster.exists():
        return
    server.stop(place)
    aside = place.home / f"postgres.set-aside-{datetime.now(UTC):%Y%m%d-%H%M%S-%f}"
    place.cluster.rename(aside)
    _log.warning("%s is new; the data of an earlier folder there is in %s.", place.requested, aside)


def _flush(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def refuse_another_version(place: Place) -> None:
    try:
        version = (place.cluster / "PG_VERSION").read_text().strip()
    except FileNotFoundError:
        raise EmbeddedPostgresError(
            f"{place.cluster} is not a Postgres data folder. Move it away and start again."
        ) from None
    if version != MAJOR_VERSION:
        raise EmbeddedPostgresError(
            f"{place.cluster} was made by Postgres {version}; this is Postgres {MAJOR_VERSION}. "
            "Dump it with that version's pg_dump, move the folder away, start again and restore."
        )
