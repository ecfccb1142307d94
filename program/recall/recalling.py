"""Taking an exercise back for everybody, and giving it back.

What is not started and holds it is closed in this transaction and chosen anew by the worker. From
then on fit goes without it (`common/library_snapshot.py`), whoever publishes.
"""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from athletes.changes import lock_children
from athletes.models import Child, User
from athletes.signals import Circumstance
from library.models import Exercise
from library.shared.task_queue import enqueue, lock_of
from program.fit.forbidden import forbidden_among
from program.models import AssignedSession, AssignedSessionQuerySet, Recall
from program.publish.closing import choose_anew
from program.publish.publishing import hold_up_publishing


class AlreadyRecalled(Exception):
    """Somebody was quicker; what was written then stands."""


@transaction.atomic
def recall(exercise: Exercise, reason: str, by: User, now: dt.datetime, today: dt.date) -> Recall:
    """Raises AlreadyRecalled. What is closed of days past stays so: nobody is to do it late."""
    hold_up_publishing()
    if Recall.objects.of(exercise).standing().exists():
        raise AlreadyRecalled
    standing = Recall.objects.create(exercise=exercise, reason=reason, by=by, at=now)
    held = _locked(holding(exercise).filter(closed_at=None))
    AssignedSession.objects.filter(pk__in=held).update(closed_at=now)
    ahead = AssignedSession.objects.filter(pk__in=held, date__gte=today)
    _choose_anew_for(ahead.values_list("child", flat=True), now)
    return standing


@transaction.atomic
def end_recall(standing: Recall, by: User, now: dt.datetime, today: dt.date) -> bool:
    """Let fit give it again, and choose anew what everybody has ahead; False where somebody else
    has ended it."""
    hold_up_publishing()
    ended = Recall.objects.standing().filter(pk=standing.pk).update(ended_at=now, ended_by=by)
    if ended:
        _open_what_is_past(holding(standing.exercise).filter(date__lt=today))
        _choose_anew_for(_children_with_something_ahead(today), now)
    return bool(ended)


def on_exercise_retired(exercise: Exercise, reason: str, by: User, **signal: Any) -> None:
    """Receiver of `library.signals.exercise_retired`, in its transaction."""
    if reason and not Recall.objects.of(exercise).standing().exists():
        recall(exercise, reason, by, timezone.now(), timezone.localdate())


def holding(exercise: Exercise) -> AssignedSessionQuerySet:
    """What nobody has started and holds the exercise, given or as the easier option."""
    given = Q(slots__revision__exercise=exercise)
    easier = Q(slots__easier_revision__exercise=exercise)
    found = AssignedSession.objects.filter(given | easier).order_by().values("pk")
    return AssignedSession.objects.untouched().filter(pk__in=found)


def _locked(assigned: AssignedSessionQuerySet) -> list[int]:
    """Their children, and then these sessions by key, so that a log being written is seen."""
    lock_children(Child.objects.filter(pk__in=assigned.values("child")))
    rows = assigned.select_for_update(of=("self",)).order_by("pk")
    return list(rows.values_list("pk", flat=True))


def _open_what_is_past(assigned: AssignedSessionQuerySet) -> None:
    closed = assigned.filter(pk__in=_locked(assigned.exclude(closed_at=None)))
    still_forbidden = [each.pk for each in forbidden_among(closed)]
    closed.exclude(pk__in=still_forbidden).update(closed_at=None)


def _children_with_something_ahead(today: dt.date) -> Iterable[int]:
    cohorts = Q(
        enrolments__cohort__blocks__sessions__date__gte=today,
        enrolments__cohort__blocks__sessions__published_at__isnull=False,
    )
    return Child.objects.filter(cohorts).values_list("pk", flat=True)


def _choose_anew_for(children: Iterable[int], now: dt.datetime) -> None:
    for key in sorted(set(children)):
        enqueue(
            choose_anew,
            lock=lock_of(key),
            child=key,
            what=Circumstance.RECALL.value,
            asked_at=now.isoformat(),
        )
