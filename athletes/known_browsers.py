"""Which browsers somebody has signed in with, as those browsers themselves remember it, so that a
new one is told of by mail. Nothing is kept of it here, and it opens nothing."""

from typing import Final

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from athletes.mailing import link_to, written_mail
from athletes.models import OutgoingMail, User
from athletes.user_agents import UNKNOWN, device_of

COOKIE: Final = f"{settings.COOKIES_OF}known"
SALT: Final = "athletes.known_browsers"
A_YEAR: Final = 365 * 24 * 60 * 60
MOST: Final = 8
"""So many people of one browser, a family's tablet, are remembered."""
TEMPLATE: Final = "athletes/mail/new_sign_in.txt"


def is_known(request: HttpRequest, person: User) -> bool:
    mark = _mark_of(person).encode()
    return any(constant_time_compare(each.encode(), mark) for each in _marks_in(request))


def remember(request: HttpRequest, answer: HttpResponseBase, person: User) -> None:
    """Have the browser remember that this person has signed in with it."""
    mark = _mark_of(person)
    others = [each for each in _marks_in(request) if each != mark]
    answer.set_cookie(
        COOKIE,
        ".".join([mark, *others[: MOST - 1]]),
        max_age=A_YEAR,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def mail_of(request: HttpRequest, person: User) -> OutgoingMail:
    """That they have signed in, whether they want mails or not."""
    context = {
        "person": person,
        "device": device_of(request.headers.get("User-Agent", "")) or UNKNOWN,
        "at": timezone.localtime(),
        "link": link_to(request, reverse("athletes:sign_ins")),
    }
    return written_mail(
        person.email, "A new sign-in to Fledge", render_to_string(TEMPLATE, context)
    )


def _marks_in(request: HttpRequest) -> list[str]:
    return request.COOKIES.get(COOKIE, "")[:1000].split(".")


def _mark_of(person: User) -> str:
    """Which nobody makes up, and which tells nobody whose it is."""
    who = f"{person.pk} {person.created_at.isoformat()}"
    return salted_hmac(SALT, who, algorithm="sha256").hexdigest()[:32]
