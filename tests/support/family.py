"""Sessions as a family has them: what was assigned to a child on the days of one week."""

import datetime as dt
import re
from typing import Any
from zoneinfo import ZoneInfo

from athletes.models import Child
from program.models import AssignedSession, AssignedSlot
from tests.support.factories import (
    MONDAY,
    AssignedSessionFactory,
    AssignedSlotFactory,
    BlockFactory,
    ExerciseFactory,
    SessionFactory,
)

WEDNESDAY = MONDAY + dt.timedelta(days=2)
EVENING = dt.datetime.combine(WEDNESDAY, dt.time(18, 30), ZoneInfo("Europe/London"))
"""When the tests about families happen, so that "today" is in a known week."""

STOP_RULES = "if you feel dizzy, wheezy, short of breath or sick, or have a headache"
"""The stop rules beside pain, as a family reads them wherever a session begins."""


def assign(child: Child, date: dt.date = WEDNESDAY, **details: Any) -> AssignedSession:
    """A session for a child; its block is of the child's cohort."""
    block = BlockFactory(cohort=child.enrolments.get().cohort)
    name = details.pop("name", "Strong steps")
    session = SessionFactory(block=block, name=name, date=date)
    return AssignedSessionFactory(session=session, child=child, name=name, date=date, **details)


def give(
    assigned: AssignedSession, exercise: str, *, part: int = 0, place: int = 0, **details: Any
) -> AssignedSlot:
    """An exercise in it; details that start with `revision__` say what it is like."""
    about = {name: details.pop(name) for name in list(details) if name.startswith("revision__")}
    revision = ExerciseFactory(**(about | {"revision__name": exercise})).current
    timed = {} if revision.measure == "repetitions" else {"tempo": ""}
    return AssignedSlotFactory(
        assigned_session=assigned,
        part_position=part,
        part_name=details.pop("part_name", "Warm-up" if part == 0 else "Step and row"),
        position=place,
        revision=revision,
        **(timed | details),
    )


def text(answer) -> str:
    """What is read on a page, in one line."""
    assert answer.status_code == 200
    words = re.sub(r"<(script|style)\b.*?</\1>|<[^>]+>", " ", answer.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", words)
