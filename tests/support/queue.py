"""The coach's queue for tests: what happened to a child, and what the queue makes of it."""

import datetime as dt
from types import SimpleNamespace

from django.urls import reverse

from athletes.changes import place
from athletes.models import Child, Placement
from program.log.logbook import LogEntry, SlotEntry, write_log
from program.models import AssignedSession, AssignedSlot, PainReport
from program.review.finding import Finding
from program.review.queue import queue_of
from tests.support.factories import AssignedSlotFactory, ExerciseFactory, PathwayFactory
from tests.support.family import EVENING, WEDNESDAY, assign
from tests.support.pain import knee, report


def pathway_of_three() -> SimpleNamespace:
    """Sit to stand, then squat, then deep squat."""
    sit, squat, deep = (
        ExerciseFactory(slug=slug, revision__sides="both")
        for slug in ("sit-to-stand", "squat", "deep-squat")
    )
    return SimpleNamespace(
        sit=sit, squat=squat, deep=deep, pathway=PathwayFactory(chain=[sit, squat, deep])
    )


def put(child: Child, pathway, exercise, by, days_ago: int = 40) -> Placement:
    """The child's placement, set some days ago."""
    placement = place(child, pathway, exercise, by)
    placement.placed_at = EVENING - dt.timedelta(days=days_ago)
    placement.save(update_fields=["placed_at"])
    return placement


def slot_with(session: AssignedSession, exercise, amount: int = 8) -> AssignedSlot:
    return AssignedSlotFactory(
        assigned_session=session, revision=exercise.current, amount=amount, position=0
    )


def did(child: Child, by, days_ago: int, slots=(), state: str = "done", **told) -> AssignedSession:
    """A session of so many days ago, logged in the evening of the day it was done, its own unless
    `done_on` says another one. `slots` are (exercise, entry)."""
    session = assign(child, WEDNESDAY - dt.timedelta(days=days_ago), name=f"Day {days_ago}")
    entries = tuple(
        SlotEntry(slot_with(session, exercise), **({"state": "done"} | entry))
        for exercise, entry in slots
    )
    session = AssignedSession.objects.get(pk=session.pk)
    now = EVENING - (WEDNESDAY - told.get("done_on", session.date))
    entry = LogEntry(state=state, results=entries, **told)
    write_log(session, entry, by=by, now=now, seen=session.mark)
    return session


def log_on(clock, cast, day: int, state: str = "done") -> None:
    """A session done on a day of the clock, which is that day then."""
    clock.day = day
    session = assign(cast.child, clock.today, name=f"Day {day}")
    write_log(session, LogEntry(state=state), by=cast.guardian, now=clock.now, seen=session.mark)


def hurt(session, by, days_ago=0, **details) -> PainReport:
    return report(session, knee(**details), by, EVENING - dt.timedelta(days=days_ago))


def waiting(user, kind: str = "", scope: str = "") -> list[Finding]:
    """What waits for somebody, of one kind if given."""
    found = queue_of(user, WEDNESDAY, scope).findings
    return [each for each in found if not kind or each.kind == kind]


def labels(finding: Finding) -> list[str]:
    return [action.label for action in finding.actions]


WHY = "Looked at it on Monday"


def press(client, finding: Finding, action: str, htmx: bool = False, **also):
    """Post the finding's form as the page sends it."""
    sent = {"child": finding.who.child.public_id, "key": finding.key, "action": action, "scope": ""}
    sent["because"] = WHY
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(reverse("program:answer"), sent | also, headers=headers)
