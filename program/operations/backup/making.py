"""Makes an archive: database and uploads as they were at one moment, and looked through."""

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from program.operations.backup import checking, encryption, files, postgres, uploads
from program.operations.backup.archive import Writer
from program.operations.backup.manifest import FORMAT, Manifest
from program.operations.backup.postgres import Connection, Database, NoRoom


@dataclass(frozen=True)
class Made:
    """An archive that was made. `in_full`: it was brought back into a scratch database."""

    manifest: Manifest
    size: int
    in_full: bool


@postgres.faults_in_words()
def back_up(database: Database, path: Path, public_key: str = "") -> Made:
    """Writes everything to a new file, for one who holds the key's other half where one is given.

    It has its name only once it was looked through. Raises BackupError, having kept nothing.
    """
    recipient = encryption.public_key(public_key) if public_key else None
    with files.new_file(path) as file:
        if recipient is None:
            keys = None
            manifest = _write(database, file)
        else:
            # A second key, forgotten when this ends, reads once what the first one's holder will.
            keys = [encryption.new_key()]
            both = [recipient, *(key.to_public() for key in keys)]
            with encryption.encrypting(file, both) as plain:
                manifest = _write(database, plain)
        file.flush()
        in_full = _look_through(database, Path(file.name), keys)
        return Made(manifest, file.tell(), in_full)


def _write(database: Database, file: BinaryIO) -> Manifest:
    now = dt.datetime.now(dt.UTC)
    writer = Writer(file, now.timestamp())
    with postgres.one_moment(database) as (connection, moment):
        with postgres.dumping(database, moment) as dump:
            writer.add_dump(dump)
        missing = _add_uploads(connection, writer)
        with database.connect() as later:
            lost = missing & set(postgres.named_uploads(later, uploads.PATTERN))
        manifest = Manifest(
            format=FORMAT,
            made=now.isoformat(timespec="seconds"),
            postgres=postgres.version(connection),
            migrations=postgres.migrations(connection),
            tables=postgres.tables(connection),
            members=writer.members,
            deleted_meanwhile=sorted(missing - lost),
            lost=sorted(lost),
        )
    writer.finish(manifest)
    return manifest


def _add_uploads(connection: Connection, writer: Writer) -> set[str]:
    """Those that could not be added. A file comes before its row and goes after it, so each that
    is missing was deleted with its row since that moment, or lost."""
    missing = set()
    for name in postgres.named_uploads(connection, uploads.PATTERN):
        content = uploads.content_of(name)
        if content is None:
            missing.add(name)
        else:
            writer.add_upload(name, content)
    return missing


def _look_through(database: Database, path: Path, keys: checking.Keys) -> bool:
    """Whether it could be brought back in full; where no database may be made, it was only read."""
    checked = checking.read_through(path, keys)
    try:
        with checking.loaded(checked, database, checking.nothing):
            return True
    except NoRoom:
        checking.read_dump_through(checked)
        return False
