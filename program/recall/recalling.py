"""Taking an exercise back for everybody, and giving it back.

What is not started and holds it is closed in this transaction and chosen anew by the worker. From
then on fit goes without it (`common/library_snapshot.py`), whoever publishes.
"""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from athletes.changes import lock_children
from athletes.models import Child, User
from athletes.signals import Circumstance
from library.models import Exercise, keep_the_edition
from library.shared.acting import acting_for_the_program
from program.fit.forbidden import forbidden_among
from program.models import AssignedSession, AssignedSessionQuerySet, Recall
from program.publish.closing import have_chosen_anew


class AlreadyRecalled(Exception):
    """Somebody was quicker; what was written then stands."""


@transaction.atomic
@acting_for_the_program()
def recall(exercise: Exercise, reason: str, by: User, now: dt.datetime, today: dt.date) -> Recall:
    """Raises AlreadyRecalled. What is closed of days past stays so: nobody is to do it late."""
    keep_the_edition()
    if Recall.objects.of(exercise).standing().exists():
        raise AlreadyRecalled
    standing = Recall.objects.create(exercise=exercise, reason=reason, by=by, at=now)
    held = _locked(holding(exercise).filter(closed_at=None))
    AssignedSession.objects.filter(pk__in=held).update(closed_at=now)
    ahead = AssignedSession.objects.filter(pk__in=held, date__gte=today)
    have_chosen_anew(set(ahead.values_list("child", flat=True)), Circumstance.RECALL, now)
    return standing


@transaction.atomic
@acting_for_the_program()
def end_recall(standing: Recall, by: User, now: dt.datetime, today: dt.date) -> bool:
    """Let fit give it again, and choose anew what everybody has ahead; False where somebody else
    has ended it."""
    keep_the_edition()
    ended = Recall.objects.standing().filter(pk=standing.pk).update(ended_at=now, ended_by=by)
    if ended:
        _open_what_is_past(holding(standing.exercise).filter(date__lt=today))
        have_chosen_anew(_children_with_something_ahead(today), Circumstance.RECALL, now)
    return bool(ended)


def on_exercise_retired(exercise: Exercise, reason: str, by: User, **signal: Any) -> None:
    """Receiver of `library.signals.exercise_retired`, in its transaction."""
    if reason and not Recall.objects.of(exercise).standing().exists():
        recall(exercise, reason, by, timezone.now(), timezone.localdate())


def holding(exercise: Exercise) -> AssignedSessionQuerySet:
    """What nobody has started and holds the exercise, given or as the easier option."""
    return AssignedSession.objects.untouched().holding([exercise.pk])


def _locked(assigned: AssignedSessionQuerySet) -> list[int]:
    """Their children, and then these sessions by key, so that a log being written is seen."""
    lock_children(Child.objects.filter(pk__in=assigned.values("child")))
    rows = assigned.select_for_update(of=("self",)).order_by("pk")
    return list(rows.values_list("pk", flat=True))


def _open_what_is_past(assigned: AssignedSessionQuerySet) -> None:
    closed = assigned.filter(pk__in=_locked(assigned.exclude(closed_at=None)))
    still_forbidden = [each.pk for each in forbidden_among(closed)]
    closed.exclude(pk__in=still_forbidden).update(closed_at=None)


def _children_with_something_ahead(today: dt.date) -> set[int]:
    cohorts = Q(
        enrolments__cohort__blocks__sessions__date__gte=today,
        enrolments__cohort__blocks__sessions__published_at__isnull=False,
    )
    return set(Child.objects.filter(cohorts).values_list("pk", flat=True))
