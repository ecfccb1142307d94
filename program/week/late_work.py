"""What follows from changes and has not been done, in words for the head coach."""

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.mailing import send_mails
from athletes.models import Child
from library.shared.task_queue import is_anybody_working, late
from program.engine.wording import listed, plural
from program.publish.closing import choose_anew

if TYPE_CHECKING:
    from athletes.models import User

MOST_NAMED: Final = 3  # children named one by one before the rest is counted

NOBODY_WORKS: Final = (
    "Nobody is doing what follows from changes: ask whoever runs Fledge to start its worker."
)


def late_work(user: "User", now: dt.datetime) -> list[str]:
    """Each a sentence; none for whoever cannot see to it, and none where all is done."""
    waiting = list(late(now)) if user.is_head_coach else []
    if not waiting:
        return []
    return [*([] if is_anybody_working(now) else [NOBODY_WORKS]), *_what_waits(waiting)]


def _what_waits(jobs: Iterable[ProcrastinateJob]) -> list[str]:
    by_name: dict[str, list[ProcrastinateJob]] = {}
    for job in jobs:
        by_name.setdefault(job.task_name, []).append(job)
    anew = by_name.pop(choose_anew.name, [])
    mails = sum(len(job.args["mails"]) for job in by_name.pop(send_mails.name, []))
    others = sum(len(each) for each in by_name.values())
    told = (
        _still_to_be_chosen({job.args["child"] for job in anew}),
        f"{plural(mails, 'mail')} not sent yet." if mails else "",
        f"{plural(others, 'other thing')} still to be done." if others else "",
    )
    return [sentence for sentence in told if sentence]


def _still_to_be_chosen(keys: set[int]) -> str:
    children = [str(child) for child in Child.objects.filter(pk__in=keys).order_by("pk")]
    if not children:
        return ""
    more = len(children) - MOST_NAMED
    named = children[:MOST_NAMED] + ([f"{more} more"] if more > 0 else [])
    return f"{listed(named)}: sessions still to be chosen anew."
