"""Photos and clips, read from and put into wherever Django's storage keeps them."""

import hashlib
import re
from typing import Final

from django.core.files.base import ContentFile

from library.shared.uploads.keeping import OURS, uploads
from program.operations.backup.errors import BackupError, Damaged

PATTERN: Final = OURS


def refuse_strange_name(name: str) -> None:
    if not name or not re.match(OURS, name):
        raise Damaged("The archive holds a file with a name that Fledge gives to no upload.")


def content_of(name: str) -> bytes | None:
    """None where there is no such file."""
    try:
        with uploads().open(name) as file:
            return bytes(file.read())
    except FileNotFoundError:
        return None


def put(name: str, content: bytes) -> bool:
    """Makes sure that this content is kept under this name; whether it was not before."""
    there = content_of(name)
    if there is not None:
        if hashlib.sha256(there).digest() == hashlib.sha256(content).digest():
            return False
        uploads().delete(name)
    if uploads().save(name, ContentFile(content)) != name:
        raise BackupError("An upload could not be put where it was: the storage renamed it.")
    return True


def delete(name: str) -> None:
    uploads().delete(name)
