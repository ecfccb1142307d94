"""Brings an archive back: beside the database, checked and brought up to date there, and given the
database's name at the end, in one transaction. Until then nothing was changed but that uploads
which were missing are there again.
"""

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.core.management import call_command
from django.db import connections
from django.db.migrations.loader import MigrationLoader
from pyrage.x25519 import Identity

from program.config.grants import LACKS_RIGHTS
from program.operations.backup import checking, configured, postgres, uploads
from program.operations.backup.errors import BackupError
from program.operations.backup.manifest import Manifest
from program.operations.backup.postgres import LONGEST_NAME, Database

ALIAS: Final = "restored"
PEOPLE: Final = "athletes_user"
FORMER_APPS: Final = {"sessions"}
"""Which Fledge does without by now: older archives have their migrations."""


@dataclass(frozen=True)
class Restored:
    """`former` is the name of the database that was there; "" where there was nothing in it."""

    manifest: Manifest
    migrated: int
    uploads_put: int
    former: str


@postgres.faults_in_words()
def restore(
    path: Path, keys: Sequence[Identity] | None, database: Database, web: Database, *, replace: bool
) -> Restored:
    """database: as its owner; web: the same one as the web role.

    Raises BackupError, having left the database as it was.
    """
    was_bare = _is_bare(database)
    if not (was_bare or replace):
        _refuse_what_is_in_use(database)
    checked = checking.read_through(path, keys)
    refuse_newer(checked.manifest)
    held: list[str] = []
    with checking.loaded(checked, database, lambda name, content: held.append(name)) as new:
        _refuse_incomplete(new, held, checked.manifest)
        migrated = _bring_up_to_date(new, checked.manifest)
        _refuse_without_rights(web.named(new.name))
        put = _put_uploads(checked)
        former = _former_name(database)
        _close_own_connections()
        postgres.exchange(database, new, former, users=[database, web])
    if was_bare:
        with database.connect() as connection:
            postgres.drop(connection, former)
    return Restored(checked.manifest, migrated, put, "" if was_bare else former)


@postgres.faults_in_words()
def drop_former(name: str, database: Database) -> int:
    """Deletes a database that `restore` has set aside, and the uploads that it alone named; how
    many. Raises BackupError for any other database."""
    if not re.fullmatch(
        f"{re.escape(_begin_of_former(database))}[0-9]{{8}}(_[0-9]{{6}}){{2}}", name
    ):
        raise BackupError(f"{name} is no database that a restore has set aside.")
    with database.connect() as connection:
        named = set(postgres.named_uploads(connection, uploads.PATTERN))
        with database.named(name).connect() as former:
            formerly_named = set(postgres.named_uploads(former, uploads.PATTERN))
        postgres.drop(connection, name)
    for upload in formerly_named - named:
        uploads.delete(upload)
    return len(formerly_named - named)


def _is_bare(database: Database) -> bool:
    with database.connect() as connection:
        return postgres.is_bare(connection)


def _refuse_what_is_in_use(database: Database) -> None:
    with database.connect() as connection:
        is_another_programs = not postgres.has_table(connection, PEOPLE)
    if is_another_programs or has_people(database):
        there = "is something that is not Fledge’s" if is_another_programs else "are people"
        raise BackupError(
            f"There {there} in the database {database.name}. With --replace the archive takes its "
            "place, and it is kept under another name."
        )


def has_people(database: Database) -> bool:
    with database.connect() as connection:
        return postgres.has_rows(connection, PEOPLE)


def refuse_newer(manifest: Manifest) -> None:
    known = _known_migrations()
    theirs = [name for name in manifest.migrations if name.split(".")[0] not in FORMER_APPS]
    if unknown := [name for name in theirs if name not in known]:
        raise BackupError(
            f"This archive is of a newer Fledge: this one does not know {', '.join(unknown)}. "
            "Nothing was changed."
        )


def _known_migrations() -> set[str]:
    known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations
    replaced = {each for migration in known.values() for each in migration.replaces}
    return {f"{app}.{name}" for app, name in known.keys() | replaced}


def _refuse_incomplete(new: Database, held: Sequence[str], manifest: Manifest) -> None:
    """Every upload a row names is in the archive, but those that it says are not."""
    for name in held:
        uploads.refuse_strange_name(name)
    with new.connect() as connection:
        named = set(postgres.named_uploads(connection, uploads.PATTERN))
    if missing := named - {*held, *manifest.deleted_meanwhile, *manifest.lost}:
        raise BackupError(
            f"{len(missing)} uploads that the archive’s rows name are not in it. "
            "Nothing was changed."
        )


def _bring_up_to_date(new: Database, manifest: Manifest) -> int:
    """Migrates what an older Fledge kept, after which the web role has its rights as after any
    `migrate`; how many migrations."""
    with _as_alias(new), new.connect() as connection:
        call_command("migrate", database=ALIAS, verbosity=0, interactive=False, without_backup=True)
        connection.execute("ANALYZE")
        return len(set(postgres.migrations(connection)) - set(manifest.migrations))


@contextmanager
def _as_alias(database: Database) -> Iterator[None]:
    owner = connections[configured.owner()].settings_dict
    connections.settings[ALIAS] = {**owner, "NAME": database.name}
    try:
        yield
    finally:
        connections[ALIAS].close()
        del connections[ALIAS], connections.settings[ALIAS]


def _refuse_without_rights(web: Database) -> None:
    with web.connect() as connection:
        without = connection.execute(LACKS_RIGHTS).fetchall()
    if without:
        raise BackupError(f"The web role has no rights on {len(without)} of the restored tables.")


def _put_uploads(checked: checking.Checked) -> int:
    put = 0

    def keep(name: str, content: bytes) -> None:
        nonlocal put
        put += uploads.put(name, content)

    checking.each_upload(checked, keep)
    return put


def _former_name(database: Database) -> str:
    return f"{_begin_of_former(database)}{dt.datetime.now(dt.UTC):%Y%m%d_%H%M%S_%f}"


def _begin_of_former(database: Database) -> str:
    return f"{database.name[:LONGEST_NAME]}_before_"


def _close_own_connections() -> None:
    for connection in connections.all(initialized_only=True):
        connection.close()
