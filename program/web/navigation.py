"""What every page knows: the way about, by role. Costs no query, but for a coach's bar one.

A coach who is a parent has two sides, and each page's bar leads to the other.
"""

import re
from functools import cached_property
from typing import Any

from django.conf import settings
from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Exists, Func, IntegerField
from django.http import HttpRequest
from django.urls import reverse

from athletes.family_frame import Link
from athletes.models import Child, User
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


class CoachBar:
    """What stands above a coach's page: the stations, with how many reports of pain wait for an
    answer, and whether there is a family to go to. One query, once it is shown."""

    def __init__(self, user: Any, path: str) -> None:
        self._user = user
        self._path = path

    @property
    def stations(self) -> list[Link]:
        waiting, _ = self._known
        return [
            link._replace(waiting=waiting) if link.label == "Review" else link
            for link in _links(COACH_PAGES, self._path)
        ]

    @property
    def is_parent(self) -> bool:
        return self._known[1]

    @cached_property
    def _known(self) -> tuple[int, bool]:
        own = Child.objects.coached_by(self._user)
        waiting = PainReport.objects.filter(child__in=own).unanswered().order_by().values("pk")
        count = Func(ArraySubquery(waiting), function="cardinality", output_field=IntegerField())
        family = Child.objects.of_family(self._user)
        found = User.objects.values_list(count, Exists(family)).get(pk=self._user.pk)
        return found[0], found[1]


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
        "coach_bar": CoachBar(user, request.path) if is_coach else None,
        "account_links": _links(_account_pages(user), request.path),
        "family_links": _links(_familys_pages(user), request.path),
        "demo_accounts": _demo_doors(),
    }


def _account_pages(user: Any) -> tuple[tuple[str, str], ...]:
    if getattr(user, "is_head_coach", False):
        return HEAD_COACH_PAGES
    return OWN_PAGES if getattr(user, "is_coach", False) else ()


def _familys_pages(user: Any) -> tuple[tuple[str, str], ...]:
    """On the family's side, which may be a coach's, too."""
    if getattr(user, "is_athlete", False):
        return ATHLETE_PAGES
    return FAMILY_PAGES if getattr(user, "is_active", False) else ()


def _demo_doors() -> Any:
    if not settings.DEMO:
        return ()
    from program.demo.sign_in import DEMO_ACCOUNTS

    return DEMO_ACCOUNTS
