"""What follows from changes and has not been done, in words for whoever coaches."""

import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.mailing import send_mails
from athletes.models import Child, ChildQuerySet
from library.shared.task_queue import is_anybody_working, late
from program.engine.wording import plural
from program.publish.closing import choose_anew
from program.week.notes import names_in_words

if TYPE_CHECKING:
    from athletes.models import User

NOBODY_WORKS: Final = (
    "Nobody is doing what follows from changes: ask whoever runs Fledge to start its worker."
)


def late_work(user: "User", now: dt.datetime) -> list[str]:
    """Each a sentence; none where all is done. A head coach, who can see to it, reads of
    everything, another coach of the own children's sessions."""
    waiting = list(late(now))
    if not waiting:
        return []
    children = Child.objects.coached_by(user)
    if not user.is_head_coach:
        anew = (job.args["child"] for job in waiting if job.task_name == choose_anew.name)
        return [each for each in [_still_to_be_chosen(children, set(anew))] if each]
    nobody = [] if is_anybody_working(now) else [NOBODY_WORKS]
    return [*nobody, *_what_waits(children, waiting)]


def _what_waits(children: ChildQuerySet, jobs: Iterable[ProcrastinateJob]) -> list[str]:
    by_name: dict[str, list[ProcrastinateJob]] = {}
    for job in jobs:
        by_name.setdefault(job.task_name, []).append(job)
    anew = by_name.pop(choose_anew.name, [])
    mails = sum(len(job.args["mails"]) for job in by_name.pop(send_mails.name, []))
    others = sum(len(each) for each in by_name.values())
    told = (
        _still_to_be_chosen(children, {job.args["child"] for job in anew}),
        f"{plural(mails, 'mail')} not sent yet." if mails else "",
        f"{plural(others, 'other thing')} still to be done." if others else "",
    )
    return [sentence for sentence in told if sentence]


def _still_to_be_chosen(children: ChildQuerySet, keys: set[int]) -> str:
    names = [str(child) for child in children.filter(pk__in=keys).order_by("pk")]
    return f"{names_in_words(names)}: sessions still to be chosen anew." if names else ""
