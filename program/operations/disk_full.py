"""Errors that say nothing about the request: there is no room for what it would write."""

import errno
from typing import Final

NO_ROOM: Final = {errno.ENOSPC, errno.EDQUOT, errno.EROFS}


def is_disk_full(error: BaseException | None) -> bool:
    """Whether a file could not be written for want of room. Postgres says so in its own way, which
    `is_database_trouble` knows."""
    return isinstance(error, OSError) and error.errno in NO_ROOM
