"""Whether an archive would bring everything back: by bringing it back, beside the database."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pyrage.x25519 import Identity

from program.operations.backup import archive, encryption, postgres
from program.operations.backup.errors import Damaged
from program.operations.backup.manifest import Manifest, Table, differences
from program.operations.backup.postgres import Database

type Keys = Sequence[Identity] | None

MOST_SAID: Final = 5


@dataclass(frozen=True)
class Checked:
    """An archive that was read to its end and is what its manifest says."""

    path: Path
    keys: Keys
    manifest: Manifest


def read_through(path: Path, keys: Keys) -> Checked:
    """Raises Damaged, and BackupError for a missing or wrong key."""
    with encryption.opened(path, keys) as file:
        return Checked(path, keys, archive.checked(file))


@contextmanager
def loaded(
    checked: Checked, beside: Database, on_upload: Callable[[str, bytes], object]
) -> Iterator[Database]:
    """A scratch database that holds just what the archive's did. Raises BackupError, and NoRoom
    where none can be made."""
    with postgres.scratch(beside) as scratch:
        with (
            encryption.opened(checked.path, checked.keys) as file,
            postgres.loading(scratch) as load,
        ):
            archive.read(file, checked.manifest, on_dump=load.write, on_upload=on_upload)
        with scratch.connect() as connection:
            _refuse_differences(checked.manifest, postgres.tables(connection))
        yield scratch


def read_dump_through(checked: Checked) -> None:
    """What can be seen where no database can be made: whether pg_restore can read it all."""
    with encryption.opened(checked.path, checked.keys) as file, postgres.reading_only() as reading:
        archive.read(file, checked.manifest, on_dump=reading.write, on_upload=nothing)


def each_upload(checked: Checked, do: Callable[[str, bytes], object]) -> None:
    with encryption.opened(checked.path, checked.keys) as file:
        archive.read(file, checked.manifest, on_dump=len, on_upload=do)


def nothing(name: str, content: bytes) -> None:
    """An upload that was checked, and is wanted for nothing more."""


def _refuse_differences(manifest: Manifest, found: dict[str, Table]) -> None:
    if different := differences(manifest.tables, found):
        said = "; ".join(different[:MOST_SAID])
        raise Damaged(
            f"Restored, {len(different)} tables are not what they were when they were dumped: "
            f"{said}."
        )
