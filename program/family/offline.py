"""What a phone may keep for when there is no connection, and whose it is."""

import datetime as dt
import hashlib
import json
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.db.models import Q
from django.templatetags.static import static
from django.urls import reverse

from athletes.loaders import children_of
from athletes.models import Child, User
from program.common.addresses import address
from program.common.devices import DAYS_AHEAD_AT_THE_VENUE
from program.engine.weeks import monday_of
from program.family.figures import drawings_of
from program.models import AssignedSession, Place, Session

DAYS_AHEAD = 7
PAGES_OF_A_SESSION = ("session_day", "read", "follow", "log", "ask", "sheet")
WORKER = Path(settings.BASE_DIR) / "static" / "js" / "worker.js"


type Kept = dict[str, list[str]]


def to_keep(user: User, today: dt.date, opened: int | None = None) -> Kept:
    """The pages and figures that a phone or tablet should keep: a family's week, a coach's groups'
    logs, and of a coach who is a parent both. `opened` is the session whose log a coach has open.
    """
    if not user.is_coach:
        kept = _family_week(user, children_of(user), today)
        return kept | {"pages": [reverse("program:home"), *kept["pages"]]}
    groups = groups_to_keep(user, today, opened)
    children = children_of(user)
    if not children:
        return {"pages": groups, "figures": []}
    kept = _family_week(user, children, today)
    seen = Child.objects.visible_to(user).values_list("public_id", flat=True)
    return kept | {"pages": groups + kept["pages"], "children": [str(each) for each in seen]}


def _family_week(user: User, children: list[Child], today: dt.date) -> Kept:
    """From Monday to a week from today; and its children, so that what a phone holds of any other
    goes."""
    days = (monday_of(today), today + dt.timedelta(days=DAYS_AHEAD))
    sessions = list(
        AssignedSession.objects.visible_to(user)
        .filter(child__in=children, date__range=days)
        .with_slots()
        .select_related("completion")
    )
    pages = [reverse("program:family")]
    pages += [reverse("program:child_day", args=[child.public_id]) for child in children]
    pages += [address(each, each.child, name) for each in sessions for name in _pages_of(each)]
    figures = sorted({drawing for session in sessions for drawing in drawings_of(session)})
    keys = [str(child.public_id) for child in children]
    return {"pages": pages, "figures": figures, "children": keys}


def _pages_of(session: AssignedSession) -> tuple[str, ...]:
    return PAGES_OF_A_SESSION if session.may_be_done else PAGES_OF_A_SESSION[:1]


def groups_to_keep(user: User, today: dt.date, opened: int | None) -> list[str]:
    """The group's logs a coach may need in a hall without a connection: of yesterday to three days
    from today in the cohorts this coach is named for, and the one just opened."""
    days = (today - dt.timedelta(days=1), today + dt.timedelta(days=DAYS_AHEAD_AT_THE_VENUE))
    soon = Q(block__cohort__coaches=user, place=Place.VENUE, date__range=days)
    published = Session.objects.visible_to(user).taking_place().filter(published_at__isnull=False)
    wanted = published.filter(soon | Q(pk=opened)).order_by("date", "pk").distinct()
    return [reverse("program:group_log", args=[each.pk]) for each in wanted.only("date")]


def worker_script() -> str:
    """The service worker with what it must know of this release; it changes with any file of ours,
    and then makes all it keeps anew."""
    told = {
        "version": release() if not settings.DEBUG else _hash_of_release(),
        "static": settings.STATIC_URL,
        "extra": [
            static("js/follow/outbox.js"),
            static("js/keeping.js"),
            static("js/log/kept.js"),
        ],
        "offline": reverse("program:no_connection"),
        "figures": reverse("library:figure", args=["any"]).removesuffix("any.svg"),
        "signIn": reverse("account_login"),
        "signOut": reverse("account_logout"),
    }
    return f"const TOLD = {json.dumps(told)};\n{WORKER.read_text()}"


@lru_cache(maxsize=1)
def release() -> str:
    return _hash_of_release()


def _hash_of_release() -> str:
    """Of the contents of all our styles, scripts and page templates."""
    digest = hashlib.sha256()
    for folder, ending in (("static", "*.css"), ("static", "*.js"), ("templates", "*.html")):
        for path in sorted((Path(settings.BASE_DIR) / folder).rglob(ending)):
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
