"""The archive: a tar of `database/0001` and on, `uploads/…`, and last `manifest.json`. No Django.

Nothing is held that is larger than a piece of the dump or an upload. The pieces, one after another,
are what pg_dump wrote: `cat database/* | pg_restore` reads them without Fledge.
"""

import hashlib
import tarfile
from collections.abc import Callable, Iterator
from pathlib import PurePosixPath
from typing import BinaryIO, Final

from program.operations.backup.errors import Damaged
from program.operations.backup.manifest import Manifest, Member, from_json

PIECE: Final = 8 * 1024 * 1024
BLOCKS: Final = 256 * 1024
DATABASE: Final = "database"
UPLOADS: Final = "uploads"
MANIFEST: Final = "manifest.json"


class Writer:
    """Writes an archive to a file that need not be able to go back."""

    def __init__(self, file: BinaryIO, moment: float) -> None:
        self._file = file
        self._moment = moment
        self.members: dict[str, Member] = {}

    def add_dump(self, dump: BinaryIO) -> None:
        for number, piece in enumerate(iter(lambda: dump.read(PIECE), b""), start=1):
            self._add(f"{DATABASE}/{number:04}", piece)

    def add_upload(self, name: str, content: bytes) -> None:
        self._add(f"{UPLOADS}/{name}", content)

    def finish(self, manifest: Manifest) -> None:
        self._write(MANIFEST, manifest.to_json())
        self._file.write(bytes(2 * tarfile.BLOCKSIZE))

    def _add(self, name: str, content: bytes) -> None:
        self.members[name] = Member(len(content), hashlib.sha256(content).hexdigest())
        self._write(name, content)

    def _write(self, name: str, content: bytes) -> None:
        told = tarfile.TarInfo(name)
        told.size, told.mode, told.mtime = len(content), 0o600, self._moment
        self._file.write(told.tobuf(tarfile.PAX_FORMAT))
        self._file.write(content)
        self._file.write(bytes(-len(content) % tarfile.BLOCKSIZE))


def checked(file: BinaryIO) -> Manifest:
    """The manifest, once every member was read and is what the manifest says of it.

    Raises Damaged, and BackupError for another format.
    """
    found: dict[str, Member] = {}
    manifest = None
    for name, content in _members(file):
        if manifest is not None:
            raise Damaged("The archive goes on after its manifest.")
        if name == MANIFEST:
            manifest = from_json(content)
        else:
            found[name] = Member(len(content), hashlib.sha256(content).hexdigest())
    if manifest is None:
        raise Damaged("The archive is broken off: it ends without its manifest.")
    for name in sorted(manifest.members.keys() | found.keys()):
        if manifest.members.get(name) != found.get(name):
            raise Damaged(f"{name} in the archive is not what its manifest says.")
    return manifest


def read(
    file: BinaryIO,
    manifest: Manifest,
    *,
    on_dump: Callable[[bytes], object],
    on_upload: Callable[[str, bytes], object],
) -> None:
    """Hands on an archive that was `checked`, piece by piece. Raises Damaged if it has changed."""
    for name, content in _members(file):
        if name == MANIFEST:
            continue
        if manifest.members.get(name) != Member(len(content), hashlib.sha256(content).hexdigest()):
            raise Damaged(f"{name} in the archive has changed while it was read.")
        path = PurePosixPath(name)
        if path.parent.name == DATABASE:
            on_dump(content)
        else:
            on_upload(path.name, content)


def _members(file: BinaryIO) -> Iterator[tuple[str, bytes]]:
    try:
        with tarfile.open(fileobj=file, mode="r|", bufsize=BLOCKS) as tar:
            for member in tar:
                tar.members = []  # type: ignore[attr-defined] # it would keep them all
                if not member.isfile():
                    raise Damaged(f"{member.name} in the archive is no file.")
                content = tar.extractfile(member)
                yield member.name, content.read() if content else b""
        while file.read(BLOCKS):
            pass  # to the end, where an encrypted one says whether it is whole
    except tarfile.TarError as error:
        raise Damaged("This is no archive of Fledge’s, or it is broken off.") from error
