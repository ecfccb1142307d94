"""Archives only the holder of a key can read, in the age format. No Django."""

import os
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, Final, cast

import pyrage
from pyrage.x25519 import Identity, Recipient

from program.operations.backup.errors import BackupError, Damaged

FIRST_BYTES: Final = b"age-encryption.org/"


def public_key(text: str) -> Recipient:
    try:
        return Recipient.from_str(text.strip())
    except pyrage.RecipientError as error:
        raise BackupError(
            "This is no public key of the age format: it begins with age1 and is made with "
            "`manage.py backup_key FILE`, or by age-keygen."
        ) from error


def secret_keys(path: Path) -> list[Identity]:
    """Those in a file as `new_secret_key` and age-keygen write it."""
    try:
        lines = path.read_text().splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise BackupError(f"The key in {path} cannot be read.") from error
    secrets = [line.strip() for line in lines if line.strip() and not line.startswith("#")]
    try:
        keys = [Identity.from_str(secret) for secret in secrets]
    except pyrage.IdentityError:
        keys = []
    if not keys:
        raise BackupError(f"What {path} holds is no secret key of the age format.")
    return keys


def new_key() -> Identity:
    return Identity.generate()


@contextmanager
def encrypting(target: BinaryIO, recipients: Sequence[Recipient]) -> Iterator[BinaryIO]:
    """What is written in the block reaches `target` encrypted for each of the recipients."""
    reading, writing = _pipe()
    noting = _NotingErrors(target)

    def encrypt() -> None:
        with reading:
            pyrage.encrypt_io(reading, noting, list(recipients))

    with _beside(encrypt, lambda: noting.error), writing:
        yield writing


@contextmanager
def decrypting(source: BinaryIO, keys: Sequence[Identity]) -> Iterator[BinaryIO]:
    """`source`, decrypted. Raises BackupError where no key fits, Damaged where it is not whole."""
    reading, writing = _pipe()

    noting = _NotingErrors(writing)

    def decrypt() -> None:
        with suppress(BrokenPipeError), writing:
            try:
                pyrage.decrypt_io(source, noting, list(keys))
            except pyrage.DecryptError as error:
                raise BackupError(
                    "This archive is encrypted for another key than the one given."
                ) from error
            except OSError as error:
                if noting.error is None:  # else nobody reads on
                    raise Damaged("The encrypted archive was changed or is broken off.") from error

    with _beside(decrypt), reading:
        yield reading


@contextmanager
def opened(path: Path, keys: Sequence[Identity] | None) -> Iterator[BinaryIO]:
    """An archive, decrypted where it is encrypted. Raises BackupError where that wants a key."""
    try:
        file = path.open("rb")
    except OSError as error:
        raise BackupError(f"{path} cannot be read: {error.strerror}.") from error
    with file:
        if not is_encrypted(file):
            yield file
        elif not keys:
            raise BackupError(f"{path} is encrypted: give the file of its secret key with --key.")
        else:
            with decrypting(file, keys) as plain:
                yield plain


def is_encrypted(file: BinaryIO) -> bool:
    begin = file.read(len(FIRST_BYTES))
    file.seek(0)
    return begin == FIRST_BYTES


class _NotingErrors:
    """A file whose own error is kept, since what goes through the library comes out as another."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self.error: OSError | None = None

    def write(self, content: bytes) -> int:
        try:
            return self._file.write(content)
        except OSError as error:
            self.error = error
            raise

    def flush(self) -> None:
        self._file.flush()


def _pipe() -> tuple[BinaryIO, BinaryIO]:
    reading, writing = os.pipe()
    return cast("BinaryIO", os.fdopen(reading, "rb")), cast("BinaryIO", os.fdopen(writing, "wb"))


@contextmanager
def _beside(
    work: Callable[[], None], cause: Callable[[], BaseException | None] = lambda: None
) -> Iterator[None]:
    """Does the work in a thread while the block runs. Its error is the one raised, since the block
    then only sees a pipe without its other end."""
    errors: list[BaseException] = []

    def run() -> None:
        try:
            work()
        except BaseException as error:
            errors.append(cause() or error)

    thread = threading.Thread(target=run)
    thread.start()
    try:
        yield
    except BaseException as error:
        thread.join()
        if errors and isinstance(error, Exception):
            raise errors[0] from error
        raise
    thread.join()
    if errors:
        raise errors[0]
