"""What an archive says of itself: the last thing in it, `manifest.json`. No Django."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Final

from program.operations.backup.errors import BackupError, Damaged

FORMAT: Final = 1


@dataclass(frozen=True)
class Table:
    """`sha256` is of all its rows, whatever order they are kept in."""

    rows: int
    sha256: str


@dataclass(frozen=True)
class Member:
    """One file in the archive: a piece of the database's dump, or an upload."""

    size: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    """`tables`, `migrations` and which uploads there are belong to one moment, that of the dump."""

    format: int
    made: str
    postgres: str
    migrations: list[str]
    """As `app.name`."""
    tables: dict[str, Table]
    members: dict[str, Member]
    deleted_meanwhile: list[str]
    """Uploads that a row of the dump names, and whose row and file were deleted before the file
    was read: restored, that row is without its file."""
    lost: list[str]
    """Uploads that a row still named when their file was not there to be read."""

    def to_json(self) -> bytes:
        return json.dumps(asdict(self), indent=1, sort_keys=True).encode()


def from_json(text: bytes) -> Manifest:
    """Raises BackupError for a format of another Fledge, Damaged for what is no manifest."""
    try:
        said = json.loads(text)
        if said["format"] != FORMAT:
            raise BackupError(
                f"This archive has format {said['format']}, and this Fledge reads {FORMAT}. "
                "Restore it with the Fledge that made it, or a newer one."
            )
        tables = {name: Table(**table) for name, table in said.pop("tables").items()}
        members = {name: Member(**member) for name, member in said.pop("members").items()}
        return Manifest(tables=tables, members=members, **said)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise Damaged("The archive's manifest cannot be read.") from error


def differences(kept: Mapping[str, Table], found: Mapping[str, Table]) -> list[str]:
    """Where two databases are not the same, a sentence for each table."""
    said = []
    for name in sorted(kept.keys() | found.keys()):
        before, after = kept.get(name), found.get(name)
        if before is None or after is None:
            said.append(f"{name} is {'missing' if after is None else 'one too many'}")
        elif before.rows != after.rows:
            said.append(f"{name} has {after.rows} rows instead of {before.rows}")
        elif before != after:
            said.append(f"{name} holds something else")
    return said
