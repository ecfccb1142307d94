"""Who may enter a view. One decorator, four doors; what they may *see* is `visible_to`'s business.

Someone signed out is asked to sign in. Someone with another role gets the 404 of a page that does
not exist, so that an address tells nothing.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, Protocol, cast

from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import resolve_url
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails


class Person(Protocol):
    """What the library needs to know of whoever is signed in."""

    name: str
    is_active: bool
    is_coach: bool
    is_head_coach: bool
    is_family: bool


class Request(HttpRequest):
    """A request that has passed a door: signed in, and knowing whether htmx sent it."""

    htmx: HtmxDetails
    user: Any


type View[**P] = Callable[Concatenate[Request, P], HttpResponseBase]


def _sign_in(request: Request) -> HttpResponse:
    if request.htmx:
        return HttpResponseClientRedirect(resolve_url("account_login"))
    return redirect_to_login(request.get_full_path())


def door[**P](may_enter: Callable[[Person], bool]) -> Callable[[View[P]], View[P]]:
    """A decorator for views that only some people may enter."""

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def entered(request: Request, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return _sign_in(request)
            if not may_enter(request.user):
                raise Http404
            return view(request, *args, **kwargs)

        return cast("View[P]", entered)

    return decorate


def for_everyone[**P](view: View[P]) -> View[P]:
    return door(lambda person: True)(view)


def for_coaches[**P](view: View[P]) -> View[P]:
    return door(lambda person: person.is_coach)(view)


def for_head_coach[**P](view: View[P]) -> View[P]:
    return door(lambda person: person.is_head_coach)(view)
