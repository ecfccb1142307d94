"""Who may enter a view. One decorator, some doors; what they may *see* is `visible_to`'s business.

Someone signed out is asked to sign in. A coach who is to have a second factor by now and has none
is led to where one is set up. Someone with another role gets the 404 of a page that does not exist,
so that an address tells nothing.
"""

import datetime as dt
import time
from collections.abc import Callable
from collections.abc import Set as AbstractSet
from contextlib import AbstractContextManager
from functools import wraps
from typing import Any, Concatenate, Final, Protocol, cast
from urllib.parse import urlsplit

from allauth.account.decorators import reauthentication_required
from allauth.account.internal.flows.login import get_authentication_records
from allauth.core.exceptions import ReauthenticationRequired
from django.conf import settings
from django.contrib.auth.views import redirect_to_login
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.middleware import HtmxDetails

from library.shared.acting import acting_as, writing_as
from library.shared.request_ids import request_id

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
    is_athlete: bool
    decides: bool

    second_factor_due_at: dt.datetime | None

    def second_factor_is_due(self, now: dt.datetime) -> bool: ...

    def has_second_factor(self) -> bool: ...


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
    parts = urlsplit(page)
    if not parts.netloc or not parts.path.startswith("/") or parts.path.startswith("//"):
        return ""  # what no browser sends, and no address to lead back to
    return parts._replace(scheme="", netloc="").geturl()


HAS_SECOND_FACTOR: Final = "has_second_factor"
"""Where the session keeps that, once it is known. It stays true while the session lasts: a coach
cannot remove the last one, and whoever's are reset is signed out everywhere."""
TO_SEND: Final = frozenset({"POST"})
"""For what may tell of a child's pain, or spare a child something: it is taken even from somebody
who may do nothing else until a second factor is set up."""
TO_LOOK_AND_SEND: Final = frozenset({"GET", "POST"})


def second_factor_wanted_by(request: Request) -> dt.datetime | None:
    """Until when, or since when, this person is to have a second factor; None for whoever has one
    or needs none. A query for coaches, once for each session where there is one."""
    due_at: dt.datetime | None = request.user.second_factor_due_at
    if due_at is None or not settings.COACHES_NEED_SECOND_FACTOR:
        return None
    if request.session.get(HAS_SECOND_FACTOR):
        return None
    if request.user.has_second_factor():
        request.session[HAS_SECOND_FACTOR] = True
        return None
    return due_at


def _lacks_second_factor(request: Request) -> bool:
    """No query but for a coach in the second week or later."""
    is_due = request.user.second_factor_is_due(timezone.now())
    return is_due and second_factor_wanted_by(request) is not None


def _set_up_second_factor(request: Request) -> HttpResponse:
    """Lead there. What a form sent is given back, as to somebody who was signed out; htmx stays on
    its page and shows the sentence (app.js)."""
    if request.htmx:
        sentence = (
            "Coaches need a second way to sign in from their second week on, so this was not "
            "done. What you typed is still here: copy it, reload the page, and set one up."
        )
        return HttpResponse(sentence, content_type="text/plain", status=403)
    if not request.POST:
        return redirect("mfa_index")
    return render(request, "403_second_factor.html", {"typed": _typed(request)}, status=403)


def _acting(request: Request) -> AbstractContextManager[None]:
    if request.method in READING:
        return acting_as(request.user.pk)
    return writing_as(request.user.pk, request_id(request))


def requires[**P](
    may_enter: Callable[[Person], bool], *, without_second_factor: AbstractSet[str] = frozenset()
) -> Callable[[View[P]], View[P]]:
    """A decorator for views that only some people may enter. `without_second_factor` are the
    methods that a coach may use who is to have one and has none."""

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def entered(request: Request, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return _sign_in(request)
            with _acting(request):
                if not may_enter(request.user):
                    raise Http404
                if request.method not in without_second_factor and _lacks_second_factor(request):
                    return _set_up_second_factor(request)
                return view(request, *args, **kwargs)

        entered.may_enter = may_enter  # type: ignore[attr-defined]  # the access table reads it
        return cast("View[P]", entered)

    return decorate


def for_signed_in[**P](view: View[P]) -> View[P]:
    return requires(lambda person: True)(view)


def for_whoever_reports[**P](view: View[P]) -> View[P]:
    """Signed in; what may tell of a child's pain is taken from a coach without a second factor,
    too."""
    return requires(lambda person: True, without_second_factor=TO_SEND)(view)


def for_whoever_may_decide[**P](view: View[P]) -> View[P]:
    """For what a family decides for a child. A coach may be a parent, too: of which child is the
    view's to ask."""
    return requires(lambda person: person.is_coach or person.decides)(view)


def for_coaches[**P](view: View[P]) -> View[P]:
    return requires(lambda person: person.is_coach)(view)


def for_head_coach[**P](view: View[P]) -> View[P]:
    return requires(lambda person: person.is_head_coach)(view)


def asks_again[**P](view: View[P]) -> View[P]:
    """For what somebody with another's open browser must not do: whoever has a second factor shows
    it again before sending this, and a coach who has none yet enters a mailed code, unless it was
    done in the last ten minutes (ACCOUNT_REAUTHENTICATION_TIMEOUT). What was sent meanwhile is kept
    in the session and done then. Below the decorator that lets somebody in."""
    shows_factor = reauthentication_required(view, allow_get=True)

    @wraps(view)
    def asked(request: Request, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if request.method not in READING and _is_to_enter_a_code(request):
            raise ReauthenticationRequired
        answer: HttpResponseBase = shows_factor(request, *args, **kwargs)
        return answer

    return cast("View[P]", asked)


def _is_to_enter_a_code(request: Request) -> bool:
    """A coach without a second factor, whose last mailed code lies too far back."""
    if second_factor_wanted_by(request) is None:
        return False
    entered = [
        each["at"]
        for each in get_authentication_records(request, request.user)
        if each["method"] == "code"
    ]
    latest = max(entered, default=0)
    return time.time() - latest >= settings.ACCOUNT_REAUTHENTICATION_TIMEOUT
