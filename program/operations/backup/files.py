"""A file that has its name only once it is whole. No Django."""

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, Final

from program.operations.backup.errors import BackupError

PART: Final = ".part"
FULL: Final = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


@contextmanager
def new_file(path: Path) -> Iterator[BinaryIO]:
    """A file to write and read again, for its owner alone. It gets its name at the end of the block
    and, if the block raises, never; what is there under that name is never written over.

    Whoever is killed leaves a `.part` beside it. Raises BackupError.
    """
    refuse_existing(path)
    with _in_words(path):
        handle, part = tempfile.mkstemp(prefix=f"{path.name}.", suffix=PART, dir=path.parent)
        try:
            os.close(handle)
            with Path(part).open("r+b") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            _name(Path(part), path)
        finally:
            Path(part).unlink(missing_ok=True)


def refuse_existing(path: Path) -> None:
    if path.exists() or path.is_symlink():
        raise BackupError(f"{path} is there already, and nothing is written over it.")


def _name(part: Path, path: Path) -> None:
    """A second name, since renaming would write over what has it by now."""
    try:
        os.link(part, path)
    except FileExistsError:
        refuse_existing(path)
        raise
    except OSError:  # a file system without second names
        refuse_existing(path)
        part.rename(path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


@contextmanager
def _in_words(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        if error.errno in FULL:
            raise BackupError(
                f"There is no room left for {path} ({os.strerror(error.errno)}). "
                "Nothing was kept under that name."
            ) from error
        raise BackupError(f"{path} cannot be written: {error.strerror or error}.") from error
