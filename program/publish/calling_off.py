"""A published session that does not take place, or on another day: a closed hall, a sick coach.

What a child has started or logged is the child's, and stays as it was on its day. Everything else
follows in the same transaction; what else such a child holds is chosen anew by the worker, since
what the day may hold of landings is free again, or taken.
"""

import datetime as dt
from collections.abc import Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import F

from athletes.changes import lock_children, tell_of_many
from athletes.models import Child
from athletes.signals import Circumstance
from library.models import hold_the_edition
from library.shared.dates import weekday_and_date
from program.models import AssignedSession, AssignedSessionQuerySet, Session
from program.publish.publishing import NotThereAnyMore, locked, publish, wait_for_logs_of
from program.publish.session_news import is_no_news

if TYPE_CHECKING:
    from athletes.models import User


class CannotCallOff(Exception):
    """Nothing was changed; the message says why and what to do."""


@transaction.atomic
def call_off(session: Session, because: str, by: "User", now: dt.datetime) -> list[AssignedSession]:
    """It does not take place, for whoever has not started it; `because` is said to the families.
    What those had, to be told. Raises CannotCallOff, and NotThereAnyMore."""
    written = _locked(session)
    if not written.is_published:
        raise CannotCallOff(f"{written} is a draft: nobody has it yet. Delete it, or move it.")
    if written.is_called_off:
        who = written.called_off_by or "somebody"
        raise CannotCallOff(f"{written} was called off already, by {who}.")
    concerned = list(_not_started(written))
    Session.objects.filter(pk=written.pk).update(
        called_off_at=now, called_off_by=by, called_off_because=because
    )
    is_no_news(written, now)
    tell_of_many(sorted(each.child_id for each in concerned), Circumstance.LIMIT)
    return concerned


@transaction.atomic
def call_off_all(
    sessions: Sequence[Session], because: str, by: "User", now: dt.datetime
) -> list[AssignedSession]:
    """Several, such as those in a break; one that somebody else has called off or taken out
    meanwhile is as it should be. What those concerned had, to be told."""
    keys = [each.pk for each in sessions]
    # All of them before their children, as whoever locks several has them.
    Session.objects.filter(pk__in=keys).lock()
    hold_the_edition()
    lock_children(Child.objects.filter(assigned__session__in=keys).distinct().only("pk"))
    concerned: list[AssignedSession] = []
    for session in sessions:
        with suppress(CannotCallOff, NotThereAnyMore):
            concerned += call_off(session, because, by, now)
    return concerned


@transaction.atomic
def take_place_after_all(session: Session, now: dt.datetime) -> list[AssignedSession]:
    """It takes place again, as it was sent; what its children may not do any more is closed, and
    chosen anew. Whose they are, to be told. Raises CannotCallOff, and NotThereAnyMore."""
    written = _locked(session)
    if not written.is_called_off:
        raise CannotCallOff(f"{written} takes place: somebody has said so already.")
    Session.objects.filter(pk=written.pk).update(
        called_off_at=None, called_off_by=None, called_off_because=""
    )
    there = _not_started(written)
    # For calendars, which take what was changed last.
    there.update(published_at=now)
    enrolled = Child.objects.enrolled_in(written.block.cohort, written.date)
    tell_of_many(sorted(enrolled.values_list("pk", flat=True)), Circumstance.LIMIT)
    return list(there)


@transaction.atomic
def move_published(
    session: Session, day: dt.date, by: "User", now: dt.datetime, because: str = ""
) -> list[AssignedSession]:
    """It takes place on another day, for whoever has not started it: published anew, so that what
    holds on that day counts, under the same addresses. What those have now, to be told.

    `because` is the coach's reason where a check says stop. Raises CannotCallOff, and what
    `publish` raises.
    """
    # The rest is locked by publishing, the cohort before its children.
    if not Session.objects.filter(pk=session.pk).lock():
        raise NotThereAnyMore
    written = Session.objects.select_related("block").get(pk=session.pk)
    _refuse_to_move(written, day)
    before = sorted(each.child_id for each in _not_started(written))
    Session.objects.filter(pk=written.pk).update(
        date=day, version=F("version") + 1, edited_by=by, edited_at=now
    )
    # Who was noted in the hall was there on the day that it is not on any more.
    written.attendance.all().delete()
    publish(written, by, now, because)
    is_no_news(written, now)
    tell_of_many(before, Circumstance.LIMIT)
    return list(_not_started(written))


def _refuse_to_move(session: Session, day: dt.date) -> None:
    """Raise CannotCallOff where the families could not follow."""
    if not session.is_published:
        raise CannotCallOff(f"{session} is a draft: change its day on the board.")
    if session.is_called_off:
        raise CannotCallOff(f"{session} is called off. Say first that it takes place after all.")
    if session.is_edited_since_publishing:
        raise CannotCallOff(
            f"{session} was edited since the families got it. Publish it first, then move it."
        )
    if day == session.date:
        raise CannotCallOff(f"{session} is on {weekday_and_date(day)} already.")
    if not session.block.holds(day):
        raise CannotCallOff(f"{weekday_and_date(day)} lies outside the block.")


def _locked(session: Session) -> Session:
    """The session with its children, and then what they have of it, nobody else's until the
    transaction ends: whoever begins or logs it meanwhile comes before or after."""
    enrolled = Child.objects.enrolled_in(session.block.cohort, session.date)
    children = [*enrolled, *Child.objects.filter(assigned__session=session)]
    written = locked(session, children)
    wait_for_logs_of(written.assigned.all())
    return written


def _not_started(session: Session) -> AssignedSessionQuerySet:
    found = AssignedSession.objects.filter(session=session).untouched()
    return found.select_related("child", "session").order_by("pk")
