"""Who may enter a view. One decorator, four doors; what they may *see* is `visible_to`'s business.

Someone signed out is asked to sign in. Someone with another role gets the 404 of a page that does
not exist, so that an address tells nothing.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, Final, Protocol, cast
from urllib.parse import urlsplit

from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.middleware import HtmxDetails

from library.shared.acting import acting_as

READING: Final = {"GET", "HEAD"}
"""Methods whose answers the database, too, holds to what the person may see."""


class Person(Protocol):
    """What the library needs to know of whoever is signed in."""

    name: str
    is_active: bool
    is_coach: bool
    is_head_coach: bool
    is_family: bool
    is_guardian: bool


class Request(HttpRequest):
    """A request that has passed a door: signed in, and knowing whether htmx sent it."""

    htmx: HtmxDetails
    user: Any


type View[**P] = Callable[Concatenate[Request, P], HttpResponseBase]


def _sign_in(request: Request) -> HttpResponse:
    """Ask to sign in. Of what a form sent, say that it is not saved, and give the words back:
    signed out, no way back leads to them. htmx stays on its page and says so itself (app.js)."""
    if request.htmx:
        return HttpResponse(status=401)
    if not request.POST:
        return redirect_to_login(request.get_full_path())
    context = {"typed": _typed(request), "page": page_sent_from(request)}
    return render(request, "401.html", context, status=401)


def _typed(request: Request) -> list[str]:
    """What somebody wrote, without what a form carries along: numbers, choices, what was seen."""
    return [
        value
        for name, values in request.POST.lists()
        for value in values
        if not name.startswith("seen") and len(value.split()) > 1
    ]


def page_sent_from(request: Request) -> str:
    """The page of ours whose form was sent, or "": many a form's own address is no page."""
    page = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(page, {request.get_host()}):
        return ""
    return urlsplit(page)._replace(scheme="", netloc="").geturl()


def requires[**P](may_enter: Callable[[Person], bool]) -> Callable[[View[P]], View[P]]:
    """A decorator for views that only some people may enter."""

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def entered(request: Request, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return _sign_in(request)
            if not may_enter(request.user):
                raise Http404
            if request.method not in READING:
                return view(request, *args, **kwargs)
            with acting_as(request.user.pk):
                return view(request, *args, **kwargs)

        entered.may_enter = may_enter  # type: ignore[attr-defined]  # the access table reads it
        return cast("View[P]", entered)

    return decorate


def for_signed_in[**P](view: View[P]) -> View[P]:
    return requires(lambda person: True)(view)


def for_coaches[**P](view: View[P]) -> View[P]:
    return requires(lambda person: person.is_coach)(view)


def for_head_coach[**P](view: View[P]) -> View[P]:
    return requires(lambda person: person.is_head_coach)(view)
