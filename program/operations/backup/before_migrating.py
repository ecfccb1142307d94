"""A backup before every migration of a database that holds people."""

import datetime as dt
import re
from pathlib import Path
from typing import Final

from django.conf import settings
from django.db import connections
from django.db.migrations.executor import MigrationExecutor

from program.operations.backup import configured, postgres
from program.operations.backup.errors import BackupError
from program.operations.backup.making import back_up
from program.operations.backup.restoring import has_people

KEPT: Final = 5
OURS: Final = re.compile(r"before-migrating-\d{8}T\d{6}Z\.tar(\.age)?")


@postgres.faults_in_words()
def back_up_before_migrating(alias: str, *, goes_back: bool) -> Path | None:
    """The new file; None where there is nothing to lose or to do. Raises BackupError.

    goes_back: some migrations may be undone, whatever is still to be applied.
    """
    database = configured.database(alias)
    if not has_people(database) or not (goes_back or _has_unapplied(alias)):
        return None
    folder = settings.BACKUPS_DIR
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise BackupError(f"{folder} cannot be made: {error.strerror}.") from error
    ending = ".tar.age" if settings.BACKUPS_FOR else ".tar"
    path: Path = folder / f"before-migrating-{dt.datetime.now(dt.UTC):%Y%m%dT%H%M%SZ}{ending}"
    back_up(database, path, settings.BACKUPS_FOR)
    delete_old(folder, path)
    return path


def delete_old(folder: Path, newest: Path) -> None:
    """All but the newest few of those made before migrating, and nothing else."""
    made = {path for path in folder.iterdir() if OURS.fullmatch(path.name)}
    for path in sorted(made - {newest})[: -(KEPT - 1)]:
        path.unlink()


def _has_unapplied(alias: str) -> bool:
    executor = MigrationExecutor(connections[alias])
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
