"""What is read at an address that only takes what a form sends."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

type Answering = Callable[[HttpRequest], HttpResponse]


def explain_sent_only(get_response: Answering) -> Answering:
    """Middleware: whoever opens such an address, reloading or by hand, gets words and a way on."""

    def middleware(request: HttpRequest) -> HttpResponse:
        answer = get_response(request)
        if answer.status_code != 405 or request.method != "GET":
            return answer
        page = render(request, "405.html", status=405)
        page.headers["Allow"] = answer.headers["Allow"]
        return page

    return middleware
