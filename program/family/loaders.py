"""What a family asks for, fetched through the person who asks; see `program.common.loaders`.

An assigned session is always looked up through its child.
"""

import datetime as dt
import uuid
from typing import TYPE_CHECKING

from django.db.models import Count, Exists, OuterRef, Q
from django.shortcuts import get_object_or_404

from athletes.models import Child
from library.models import ExerciseNote
from program.models import AssignedSession, AssignedSessionQuerySet, Submission

if TYPE_CHECKING:
    from athletes.models import User


def children_of(user: "User") -> list[Child]:
    """The children this person belongs to as family, which is not all that a coach may see."""
    family = Q(guardians=user) | Q(user=user)
    return list(Child.objects.visible_to(user).filter(family).distinct())


def own_child_or_404(user: "User", child_id: uuid.UUID) -> Child:
    """The child, for a guardian of it and nobody else."""
    children = Child.objects.visible_to(user).filter(guardians=user)
    return get_object_or_404(children, public_id=child_id)


def assigned_or_404(user: "User", child_id: uuid.UUID, assigned_id: uuid.UUID) -> AssignedSession:
    """The session with all it holds and its log, in a fixed number of queries."""
    sessions = AssignedSession.objects.visible_to(user).with_slots().with_log()
    return get_object_or_404(sessions, child__public_id=child_id, public_id=assigned_id)


def notes_on(session: AssignedSession) -> dict[int, tuple[str, ...]]:
    """What coaches say to everybody who does one of its exercises, by the exercise's id. The
    session comes `with_slots()`."""
    exercises = {slot.revision.exercise_id for slot in session.slots.all()}
    notes: dict[int, tuple[str, ...]] = {}
    for note in ExerciseNote.objects.standing().filter(exercise__in=exercises):
        notes[note.exercise_id] = (*notes.get(note.exercise_id, ()), note.text)
    return notes


def sessions_of(user: "User", child: Child) -> AssignedSessionQuerySet:
    """A child's sessions with what a week's lane shows of each: its log, how often it hurt, and
    whether another log of it waits for somebody to choose."""
    waiting = Submission.objects.undecided().filter(assigned_session=OuterRef("pk"))
    sessions: AssignedSessionQuerySet = (
        AssignedSession.objects.visible_to(user)
        .filter(child=child)
        .select_related("completion")
        .annotate(hurts=Count("pain_reports"), another_log=Exists(waiting))
        .order_by("date", "id")  # counting drops the model's own order
    )
    return sessions


def due_next(user: "User", children: list[Child], today: dt.date) -> dict[int, AssignedSession]:
    """Each child's session of today, the first one not logged if there are several, and on a free
    day the next one published."""
    sessions = AssignedSession.objects.visible_to(user).filter(child__in=children, date__gte=today)
    due: dict[int, AssignedSession] = {}
    for session in sessions.select_related("completion"):
        there = due.setdefault(session.child_id, session)
        is_same_day = session.date == there.date
        if is_same_day and hasattr(there, "completion") and not hasattr(session, "completion"):
            due[session.child_id] = session
    return due
