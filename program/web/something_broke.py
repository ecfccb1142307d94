"""The page after a fault: what it was stands in the log, under the number that the page shows."""

import sys

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.defaults import bad_request

from library.shared.request_ids import request_id
from program.web.busy import busy_answer, is_passing


def something_broke(request: HttpRequest) -> HttpResponse:
    """`handler500`. Made without the database, which may be what broke."""
    if is_passing(error := sys.exception()):
        return busy_answer(request, error)
    page = render_to_string("500.html", {"request_id": request_id(request)})
    return HttpResponse(page, status=500)


def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """`handler400`. A session that could not be kept comes as one that somebody else has ended."""
    behind: BaseException | None = exception
    while behind is not None:
        if is_passing(behind):
            return busy_answer(request, behind)
        behind = behind.__context__
    return bad_request(request, exception)
