"""A fault as the log and the operator are told of it: where, never about whom."""

import logging
import traceback
from dataclasses import dataclass
from typing import Final

from django.conf import settings

from program.operations.database_trouble import is_database_trouble, kind_of
from program.operations.requests import request_id, route_of

OF_ONE_PLACE: Final = {"LockNotAvailable", "QueryCanceled", "DeadlockDetected"}
"""Troubles of the database that come from some place of ours; the others it has everywhere."""


@dataclass(frozen=True)
class Fault:
    """`lines` are the places of the code that it came through, the innermost last; `place` tells
    one fault from another."""

    request_id: str
    method: str
    route: str
    kind: str
    lines: tuple[str, ...]
    place: str

    @classmethod
    def of(cls, record: logging.LogRecord) -> "Fault":
        request = getattr(record, "request", None)
        _, error, frames = record.exc_info or (None, None, None)
        kind = kind_of(error) if error else record.levelname
        lines = tuple(
            f"{frame.filename}:{frame.lineno} {frame.name}"
            for frame in traceback.extract_tb(frames)
        )
        is_everywhere = is_database_trouble(error) and kind not in OF_ONE_PLACE
        return cls(
            request_id(request),
            getattr(request, "method", None) or "?",
            route_of(request),
            kind,
            lines,
            "the database" if is_everywhere else _place(lines, route_of(request)),
        )


def _place(lines: tuple[str, ...], route: str) -> str:
    """The innermost line of ours, or the innermost at all."""
    home = f"{settings.BASE_DIR}/"
    ours = [line for line in lines if line.startswith(home) and "site-packages" not in line]
    return (ours or list(lines) or [route])[-1].removeprefix(home)
