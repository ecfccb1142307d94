"""One line in the log for each request: which address, how it ended, how long it took.

Neither who asked nor from where is told, nor what was asked for beyond the pattern of its address.
"""

import json
import logging
import secrets
import time
from collections.abc import Callable
from typing import Final

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone

from library.shared.request_ids import REQUEST_ID, request_id
from program.operations.requests import route_of

log = logging.getLogger("fledge.requests")

METHODS: Final = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"}

type Answering = Callable[[HttpRequest], HttpResponseBase]


def log_requests(get_response: Answering) -> Answering:
    """Middleware; the outermost, so that it sees what is sent and how long all of it took."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        begun = time.perf_counter()
        request.META[REQUEST_ID] = _new_id()
        answer = get_response(request)
        answer.headers["X-Request-ID"] = request_id(request)
        log.info("%s", json.dumps(_line(request, answer, time.perf_counter() - begun)))
        return answer

    return middleware


def _new_id() -> str:
    """Nine digits in threes, as a telephone number is read out."""
    digits = f"{secrets.randbelow(1_000_000_000):09}"
    return "-".join((digits[:3], digits[3:6], digits[6:]))


def _line(request: HttpRequest, answer: HttpResponseBase, took: float) -> dict[str, object]:
    return {
        "time": timezone.now().isoformat(timespec="milliseconds"),
        "request": request_id(request),
        "method": request.method if request.method in METHODS else "?",
        "route": route_of(request),
        "status": answer.status_code,
        "ms": round(took * 1000, 1),
        "bytes": _size(answer),
    }


def _size(answer: HttpResponseBase) -> int | None:
    """None of what is streamed without its length being known."""
    if length := answer.headers.get("Content-Length"):
        return int(length)
    return None if answer.streaming else len(getattr(answer, "content", b""))
