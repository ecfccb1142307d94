"""When the database is away or did not answer within its limit, or a disk is full: a plain page
instead of a fault.

It is made without the database. That nothing was changed is said only where that is certain.
"""

from collections.abc import Callable
from typing import Final

from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.utils.log import log_response

from library.shared.request_ids import request_id
from program.operations.database_trouble import is_database_trouble
from program.operations.disk_full import is_disk_full
from program.operations.written import Written

RETRY_AFTER: Final = "10"  # seconds
NOTHING_CHANGED: Final = (
    "Fledge is busy just now. Nothing was changed. Try the same again in a minute."
)
PERHAPS_CHANGED: Final = (
    "Fledge is busy just now. What you did last may have been saved, or part of it: look at it "
    "before you do it again."
)


class AnswerWhenBusy:
    """Middleware; outside everything that may ask the database."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        written = Written()
        request.META[WRITTEN] = written
        with connection.execute_wrapper(written):
            return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """What a view came upon. Middleware's own comes to `something_broke`."""
        if not is_passing(error):
            return None
        answer = busy_answer(request, error)
        log_response("busy", response=answer, request=request, exception=error)
        return answer


def is_passing(error: BaseException | None) -> bool:
    """Whether it says nothing about the request, and the same may well succeed later."""
    return is_database_trouble(error) or is_disk_full(error)


WRITTEN: Final = "fledge.written"


def is_nothing_changed(request: HttpRequest, error: BaseException | None) -> bool:
    """Whether that is certain of a request that this error ended."""
    written = request.META.get(WRITTEN)
    return isinstance(written, Written) and written.is_nothing_changed(error)


def busy_answer(request: HttpRequest, error: BaseException | None) -> HttpResponse:
    """503, in the form in which it is read: a page, a sentence for htmx, or JSON for a phone."""
    sentence = NOTHING_CHANGED if is_nothing_changed(request, error) else PERHAPS_CHANGED
    answer: HttpResponse
    if request.headers.get("HX-Request"):
        answer = HttpResponse(sentence, content_type="text/plain; charset=utf-8", status=503)
    elif request.content_type == "application/json":
        answer = JsonResponse({"state": "busy", "sentence": sentence}, status=503)
    else:
        context = {"sentence": sentence, "request_id": request_id(request)}
        answer = HttpResponse(render_to_string("503.html", context), status=503)
    answer.headers["Retry-After"] = RETRY_AFTER
    answer.headers["Cache-Control"] = "no-store"
    return answer
