"""What a family asks for, fetched through the person who asks; see `program.common.loaders`.

An assigned session is always looked up through its child.
"""

import datetime as dt
import uuid
from typing import TYPE_CHECKING

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Count, Exists, OuterRef, prefetch_related_objects
from django.db.models.functions import JSONObject

from athletes.models import Child, Restriction
from program.common.loaders import assigned_or_404
from program.engine.weeks import week_end
from program.models import (
    AssignedSession,
    AssignedSessionQuerySet,
    Recall,
    Session,
    Slot,
    Submission,
    WayBackStep,
)

if TYPE_CHECKING:
    from athletes.models import User


def to_follow_or_404(user: "User", child_id: uuid.UUID, assigned_id: uuid.UUID) -> AssignedSession:
    """A session `with_slots()`, and with what has to be set up for its easier options."""
    session = assigned_or_404(user, child_id, assigned_id)
    prefetch_related_objects([session], "slots__easier_revision__needs__items")
    return session


def sessions_of(user: "User", child: Child) -> AssignedSessionQuerySet:
    """A child's sessions with what a week's lane shows of each: its log, how often it hurt, and
    whether another log of it waits for somebody to choose."""
    waiting = Submission.objects.undecided().filter(assigned_session=OuterRef("pk"))
    sessions: AssignedSessionQuerySet = (
        AssignedSession.objects.visible_to(user)
        .filter(child=child)
        .select_related("completion", "session")
        .annotate(hurts=Count("pain_reports"), another_log=Exists(waiting))
        .order_by("date", "id")  # counting drops the model's own order
    )
    return sessions


def spared_on(
    user: "User", child: Child, day: dt.date
) -> tuple[list[Restriction], list[WayBackStep]]:
    """What of the child is spared on a day, and the steps of its ways back then. Two queries."""
    rules = Restriction.objects.visible_to(user).in_force(day).filter(child=child)
    steps = WayBackStep.objects.visible_to(user).current().filter(child=child)
    return list(rules.order_by("pk")), [each for each in steps if each.is_in_force(day)]


def waiting_for_coach(child: Child, monday: dt.date, today: dt.date) -> list[Session]:
    """The sessions of a week that are held from the child, who is visible to the person. With
    `recalled`, which of their exercises were taken back for everybody, and why. One query."""
    written = Slot.objects.filter(part__session=OuterRef(OuterRef("pk")))
    recalls = Recall.objects.standing().filter(exercise__in=written.values("exercise"))
    recalled = recalls.order_by("pk").values(
        json=JSONObject(exercise="exercise__current__name", reason="reason")
    )
    ahead = Session.objects.filter(date__range=(max(monday, today), week_end(monday)))
    waiting = ahead.held_from([child.pk]).annotate(recalled=ArraySubquery(recalled))
    return list(waiting.order_by("date", "pk"))


def due_next(user: "User", children: list[Child], today: dt.date) -> dict[int, AssignedSession]:
    """Each child's session of today, the first one not logged if there are several, and on a free
    day the next one published. None that is called off."""
    sessions = AssignedSession.objects.visible_to(user).filter(child__in=children, date__gte=today)
    due: dict[int, AssignedSession] = {}
    for session in sessions.taking_place().select_related("completion", "session"):
        there = due.setdefault(session.child_id, session)
        is_same_day = session.date == there.date
        if is_same_day and hasattr(there, "completion") and not hasattr(session, "completion"):
            due[session.child_id] = session
    return due
