"""A fault as the log and the operator are told of it: where, never about whom."""

import logging
import traceback
from dataclasses import dataclass
from typing import Final

from django.conf import settings

from library.shared.request_ids import request_id
from program.operations.database_trouble import is_database_trouble, kind_of
from program.operations.requests import route_of

OF_ONE_PLACE: Final = {"LockNotAvailable", "QueryCanceled", "DeadlockDetected"}
"""Troubles of the database that come from some place of ours; the others it has everywhere."""

FOR_THE_OPERATOR: Final = "fledge.operator"
"""The logger for what is no exception and whoever runs Fledge should hear of. Its sentences are
always the same ones, so that each can be mailed once an hour."""


@dataclass(frozen=True)
class Fault:
    """`lines` are the places of the code that it came through, the innermost last; `place` tells
    one fault from another. `route` is a task's name where no request was answered. Something that
    is no exception has a sentence as its `kind`, and no place."""

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
        kind = kind_of(error) if error else _sentence_of(record)
        route = getattr(record, "task", "") or route_of(request)
        lines = tuple(
            f"{frame.filename}:{frame.lineno} {frame.name}"
            for frame in traceback.extract_tb(frames)
        )
        is_everywhere = is_database_trouble(error) and kind not in OF_ONE_PLACE
        if not error and record.name == FOR_THE_OPERATOR:
            return cls("", "", "", kind, (), "")
        return cls(
            request_id(request),
            getattr(request, "method", None) or "?",
            route,
            kind,
            lines,
            "the database" if is_everywhere else _place(lines, route),
        )


def _sentence_of(record: logging.LogRecord) -> str:
    """Django's own may hold an address."""
    return record.getMessage() if record.name == FOR_THE_OPERATOR else record.levelname


def _place(lines: tuple[str, ...], route: str) -> str:
    """The innermost line of ours, or the innermost at all."""
    home = f"{settings.BASE_DIR}/"
    ours = [line for line in lines if line.startswith(home) and "site-packages" not in line]
    return (ours or list(lines) or [route])[-1].removeprefix(home)
