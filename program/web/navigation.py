"""What every page knows: the way about, by role. Costs no query, but for a coach's bar one."""

import re
from functools import partial
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject

from athletes.family_frame import Link
from program.models import PainReport

COACH_PAGES = (
    ("This week", "program:week"),
    ("Blocks", "program:blocks"),
    ("Library", "library:list"),
    ("Children", "athletes:children"),
    ("Review", "program:review"),
)
OWN_PAGES = (
    ("Worried? Whom to ask", "program:welfare"),
    ("Mail to you", "athletes:mail_setting"),
    ("Where you are signed in", "athletes:sign_ins"),
    ("A second way to sign in", "mfa_index"),
    ("What Fledge holds", "program:privacy"),
)
HEAD_COACH_PAGES = (
    ("People and cohorts", "athletes:people"),
    ("Checks", "program:checks"),
    ("Pain and the way back", "program:safety"),
    *OWN_PAGES,
)
ABOUT_A_CHILD = re.compile(r"/review/[0-9a-f-]{36}/")
FAMILY_PAGES = (("Calendar", "program:calendar_address"), *OWN_PAGES)
ATHLETE_PAGES = (("Who reads along", "athletes:who_reads"), *FAMILY_PAGES)


def _links(pages: tuple[tuple[str, str], ...], path: str) -> list[Link]:
    links = [(label, reverse(name)) for label, name in pages]
    return [Link(label, url, current=_station_of(path).startswith(url)) for label, url in links]


def _stations(user: Any, path: str) -> list[Link]:
    """With how many reports of pain wait for an answer, on every page; one query."""
    waiting = PainReport.objects.visible_to(user).unanswered().count()
    return [
        link._replace(waiting=waiting) if link.label == "Review" else link
        for link in _links(COACH_PAGES, path)
    ]


def _station_of(path: str) -> str:
    """A session's pages have an address of their own and belong to the blocks; a child's page is a
    child's, wherever it is opened from."""
    if path.startswith("/sessions/"):
        return reverse("program:blocks")
    return reverse("athletes:children") if ABOUT_A_CHILD.match(path) else path


def navigation(request: HttpRequest) -> dict[str, Any]:
    user = getattr(request, "user", None)
    is_coach = getattr(user, "is_coach", False)
    return {
        "nav": SimpleLazyObject(partial(_stations, user, request.path)) if is_coach else [],
        "account_links": _links(_account_pages(user), request.path),
        "demo_accounts": _demo_doors(),
    }


def _account_pages(user: Any) -> tuple[tuple[str, str], ...]:
    if getattr(user, "is_head_coach", False):
        return HEAD_COACH_PAGES
    if getattr(user, "is_coach", False):
        return OWN_PAGES
    if getattr(user, "is_athlete", False):
        return ATHLETE_PAGES
    return FAMILY_PAGES if getattr(user, "is_family", False) else ()


def _demo_doors() -> Any:
    if not settings.DEMO:
        return ()
    from program.demo.sign_in import DEMO_ACCOUNTS

    return DEMO_ACCOUNTS
