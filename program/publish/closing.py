"""What a child holds and may no longer do is closed in the very transaction in which that becomes
known, and what it has ahead is chosen anew by the worker. So the standing invariant holds at each
commit, whoever dies after it.
"""

import datetime as dt
import logging
from collections.abc import Collection, Iterable
from itertools import batched
from typing import Any, Final

from django.db import transaction
from django.utils import timezone
from procrastinate.contrib.django import app

from athletes.changes import lock, lock_children
from athletes.models import Child
from athletes.signals import Circumstance
from library.shared.acting import acting_for_child, acting_for_the_program
from library.shared.task_queue import (
    Queue,
    also_at_the_start,
    enqueue_each,
    lock_of,
    task,
    waiting_among,
)
from program.fit.forbidden import forbidden_among
from program.fit.held_back import held_back
from program.models import AssignedSession, AssignedSessionQuerySet, Place, StandingDecision
from program.publish.refitting import refit

to_operator = logging.getLogger("fledge.operator")

CHILDREN_AT_ONCE: Final = 500


def on_circumstances_changed(child: Child, what: Circumstance, **signal: Any) -> None:
    """Receiver of `athletes.signals.circumstances_changed`, in the transaction of the change."""
    _end_decisions([child.pk], what)
    close_and_choose_anew(child, what, timezone.now(), timezone.localdate())


_KIT: Final = {Circumstance.KIT: Place.HOME, Circumstance.VENUE: Place.VENUE}


def _end_decisions(children: Collection[int], what: Circumstance) -> None:
    """What a coach decided until this changes."""
    if place := _KIT.get(what):
        StandingDecision.objects.end_with_kit(children, place, timezone.now())
    if what is Circumstance.PLACEMENT:
        StandingDecision.objects.end_with_landing(children, timezone.now())


@acting_for_the_program()
def on_circumstances_of_many_changed(
    children: Collection[int], what: Circumstance, **signal: Any
) -> None:
    """Receiver of `athletes.signals.circumstances_of_many_changed`, who are locked."""
    now, today = timezone.now(), timezone.localdate()
    _end_decisions(children, what)
    for some in batched(sorted(children), CHILDREN_AT_ONCE, strict=False):
        _close_forbidden(some, now, today)
        have_chosen_anew(some, what, now)


@acting_for_the_program()
def on_exercises_described(exercises: Collection[int], **signal: Any) -> None:
    """Receiver of `library.signals.exercises_described`: what an exercise is said to be now may be
    forbidden to who holds it. Whoever may still do it keeps it as it was sent."""
    now, today = timezone.now(), timezone.localdate()
    for some in batched(_holders_of(exercises, today), CHILDREN_AT_ONCE, strict=False):
        lock_children(Child.objects.filter(pk__in=some).only("pk"))
        have_chosen_anew(_close_forbidden(some, now, today), Circumstance.EXERCISE, now)


@acting_for_the_program()
def on_pathways_changed(exercises: Collection[int], **signal: Any) -> None:
    """Receiver of `library.signals.pathways_changed`: what is easier, and what is nearest, may be
    something else now. No limit hangs on it, so nothing is closed."""
    now, today = timezone.now(), timezone.localdate()
    for some in batched(_holders_of(exercises, today), CHILDREN_AT_ONCE, strict=False):
        have_chosen_anew(some, Circumstance.PATHWAY, now)


def _holders_of(exercises: Collection[int], today: dt.date) -> list[int]:
    """The children, by key, who have or are offered some of these exercises in what is ahead."""
    children = _ahead(today).holding(exercises).order_by("child")
    return list(children.values_list("child", flat=True).distinct())


def close_and_choose_anew(
    child: Child, what: Circumstance, now: dt.datetime, today: dt.date
) -> None:
    """Call it in the transaction of the change, with the child locked."""
    _close_forbidden([child.pk], now, today)
    have_chosen_anew([child.pk], what, now)


def have_chosen_anew(children: Iterable[int], what: Circumstance, now: dt.datetime) -> None:
    """Of these children, by key, each once the transaction is committed."""
    said = {"what": what.value, "asked_at": now.isoformat()}
    enqueue_each(choose_anew, ((lock_of(key), {"child": key} | said) for key in children))


@task("program.choose_anew", Queue.CHANGES)
def choose_anew(child: int, what: str, asked_at: str) -> None:
    """Choose anew what this child has ahead, after something about it changed at that moment. What
    was chosen before a worker died stays; the rest follows. Nothing of another child is read."""
    at, today = dt.datetime.fromisoformat(asked_at), timezone.localdate()
    with acting_for_child(child, today):
        if found := Child.objects.filter(pk=child).first():
            refit(found, Circumstance(what), at, today)


def _close_forbidden(children: Collection[int], now: dt.datetime, today: dt.date) -> list[int]:
    """In a fixed number of queries; the children, by key, for whom something was closed."""
    theirs = _ahead(today).filter(child__in=children, closed_at=None)
    # In the order in which whoever logs several of them has them.
    if not list(theirs.select_for_update(of=("self",)).order_by("pk").values_list("pk")):
        return []
    forbidden = forbidden_among(theirs)
    AssignedSession.objects.filter(pk__in=[each.pk for each in forbidden]).update(closed_at=now)
    return sorted({each.child_id for each in forbidden})


def _ahead(today: dt.date) -> AssignedSessionQuerySet:
    return AssignedSession.objects.untouched().taking_place().filter(date__gte=today)


def children_who_hold_what_is_forbidden(today: dt.date) -> set[int]:
    """By key. The invariant is that there are none but those whose sessions are closed already, and
    wait for the worker. In a fixed number of queries for each 500 children."""
    keys = list(_ahead(today).order_by("child").values_list("child", flat=True).distinct())
    found: set[int] = set()
    for first in range(0, len(keys), CHILDREN_AT_ONCE):
        some = _ahead(today).filter(child__in=keys[first : first + CHILDREN_AT_ONCE])
        found |= {each.child_id for each in forbidden_among(some.filter(closed_at=None))}
    return found


def _children_left_closed(today: dt.date) -> set[int]:
    """Those with a closed session that no waiting work will open. What is held back stays so."""
    closed = _ahead(today).exclude(closed_at=None).order_by("child")
    keys = set(closed.values_list("child", flat=True))
    by_lock = {lock_of(key): key for key in keys - held_back(keys, today)}
    waiting = waiting_among(by_lock)
    return {key for lock, key in by_lock.items() if lock not in waiting}


@also_at_the_start
@app.periodic(cron="17 3 * * *")
@task("program.check_the_invariant", Queue.CHANGES)
def check_the_invariant(timestamp: int = 0) -> None:
    """Asked of everybody when a worker starts, every night and after a restore."""
    if sweep(timezone.now(), timezone.localdate()):
        to_operator.error("A child held a session that its facts forbid; it is chosen anew")


def on_database_restored(**signal: Any) -> None:
    """Receiver of `program.operations.backup.signals.database_restored`: what was learnt since the
    backup is gone, and what is out of step with itself is closed before anybody opens it."""
    check_the_invariant()


def sweep(now: dt.datetime, today: dt.date) -> int:
    """Close and have chosen anew whatever breaks the invariant; for how many children."""
    found = children_who_hold_what_is_forbidden(today) | _children_left_closed(today)
    _close_all(found, now, today)
    return len(found)


def _close_all(children: Iterable[int], now: dt.datetime, today: dt.date) -> None:
    for child in Child.objects.filter(pk__in=sorted(children)):
        with transaction.atomic():
            close_and_choose_anew(lock(child), Circumstance.LIMIT, now, today)
