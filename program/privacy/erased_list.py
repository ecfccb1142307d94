"""Who has been erased, kept outside the database beside the backups: a restored backup is older,
and whoever is on the list is erased from it again. A line holds keys that mean something in this
program's own database alone, and no name.
"""

import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

from django.conf import settings

NAME = "erased.jsonl"


@dataclass(frozen=True)
class ErasedLine:
    """A child by its public key, and the accounts that went with it: each by key and the moment it
    was made, since a key alone may be somebody else's in another database."""

    child: UUID
    accounts: tuple[tuple[int, str], ...]


def path() -> Path:
    return Path(settings.BACKUPS_DIR) / NAME


def add(line: ErasedLine) -> None:
    """Written through to the disk before this returns. Raises OSError."""
    place = path()
    place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    content = {"child": str(line.child), "accounts": [list(each) for each in line.accounts]}
    with place.open("a", encoding="utf-8") as file:
        file.write(json.dumps(content) + "\n")
        file.flush()
        os.fsync(file.fileno())


def lines() -> list[ErasedLine]:
    """All of it, each once; a line that a full disk cut off is left out."""
    try:
        written = path().read_text(encoding="utf-8").splitlines()
    except FileNotFoundError:
        return []
    return list(dict.fromkeys(_read(written)))


def _read(written: Iterable[str]) -> Iterable[ErasedLine]:
    for each in written:
        try:
            content = json.loads(each)
            accounts = tuple((int(key), str(made)) for key, made in content["accounts"])
            yield ErasedLine(UUID(content["child"]), accounts)
        except (ValueError, KeyError, TypeError):
            continue
