"""Who hears of a report of pain, and when: at once where it is urgent, in the evening otherwise. A
given name and a link, and nothing of what was said."""

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import Final

from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from athletes.loaders import coaches_of
from athletes.mailing import notice, send_after_commit
from athletes.models import Child, OutgoingMail, User
from library.shared.task_queue import Queue, enqueue, task
from program.models import PainReport, Resolution

EVENING: Final = (dt.time(20), dt.time(22))
MORNING: Final = dt.time(7)
"""When whatever was not urgent is told. Nobody is mailed in the night."""

URGENT: Final = "Please look at a report today"
REST: Final = "Reports of today wait for an answer"


def tell_coaches(report: PainReport, by: User, now: dt.datetime, origin: str) -> None:
    """Call it in the transaction in which the report is written."""
    counted = PainReport.objects.for_review().get(pk=report.pk)
    if counted.is_urgent:
        _tell_at_once(counted, by, now, origin)
    else:
        enqueue(tell_in_the_evening, at=next_telling(now), origin=origin)


def next_telling(now: dt.datetime) -> dt.datetime:
    """The next moment at which reports that are not urgent are told."""
    here = timezone.localtime(now)
    today = [timezone.make_aware(dt.datetime.combine(here, each)) for each in EVENING]
    tomorrow = dt.datetime.combine(here + dt.timedelta(days=1), MORNING)
    return next((each for each in today if each > now), timezone.make_aware(tomorrow))


def whoever_hears(coaches: Iterable[User]) -> list[User]:
    """Those who want mail; where that is nobody, all of them: somebody must hear."""
    coaches = list(coaches)
    return [each for each in coaches if each.wants_mail] or coaches


def tell_it_came_back(handed: Resolution, origin: str) -> None:
    """Tell both coaches that what one handed to the other is not answered. Call it in a
    transaction."""
    both = [each for each in (handed.by, handed.to) if each and each.is_active]
    link = origin + reverse("program:review")
    _press(both, "pain_came_back", handed.child, link, origin)


def _tell_at_once(report: PainReport, by: User, now: dt.datetime, origin: str) -> None:
    """Nobody is told of what they reported themselves."""
    coaches = coaches_of(report.child, timezone.localdate(now))
    others = (each for each in coaches if each.pk != by.pk)
    link = origin + reverse("program:child_review", args=[report.child.public_id])
    _press(others, "pain_urgent", report.child, link, origin)
    PainReport.objects.filter(pk=report.pk).update(mailed_at=now)


def _press(coaches: Iterable[User], about: str, child: Child, link: str, origin: str) -> None:
    context, template = (
        {"given_name": child.given_name, "link": link},
        f"program/log/mail/{about}.txt",
    )
    hearing = whoever_hears(coaches)
    send_after_commit([notice(origin, each, URGENT, template, context) for each in hearing])


@task("program.tell_in_the_evening", Queue.CHANGES)
def tell_in_the_evening(origin: str) -> None:
    """Tell each coach once of all that waits and nobody was told of yet."""
    now = timezone.now()
    with transaction.atomic():
        untold = PainReport.objects.unanswered().filter(mailed_at=None).order_by("pk")
        reports = list(untold.select_for_update(of=("self",)).select_related("child"))
        send_after_commit(list(_digests(reports, now, origin)))
        PainReport.objects.filter(pk__in=[each.pk for each in reports]).update(mailed_at=now)


def _digests(
    reports: Iterable[PainReport], now: dt.datetime, origin: str
) -> Iterator[OutgoingMail]:
    children = {each.child_id: each.child for each in reports}
    told: dict[User, list[str]] = {}
    for child in children.values():
        for coach in whoever_hears(coaches_of(child, timezone.localdate(now))):
            told.setdefault(coach, []).append(child.given_name)
    link = origin + reverse("program:review")
    for coach, names in told.items():
        context = {"given_names": sorted(names), "link": link}
        yield notice(origin, coach, REST, "program/log/mail/pain_digest.txt", context)
