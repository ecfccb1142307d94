"""What Fledge had given out before its modules moved into packages, and the rows it speaks of.

`kept_from_before.json` was taken at commit cd17914 from the pages of these rows, and from a phone
and a tablet that had them open. It is never taken anew: each value stands in somebody's mailbox,
calendar or phone, and one that no longer holds has stopped working there.
"""

import datetime as dt
import json
import uuid
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Final

import pytest

from athletes.models import Child
from library.models import ExerciseRevision
from program.models import (
    AssignedSession,
    Block,
    Break,
    CalendarFeed,
    SessionNote,
    TakenOutSession,
)
from tests.support.factories import (
    AssignedSessionFactory,
    AssignedSlotFactory,
    BlockFactory,
    ChildFactory,
    CohortFactory,
    CompletionFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
    UserFactory,
)

BEFORE: Final[dict[str, Any]] = json.loads(
    Path(__file__).with_name("kept_from_before.json").read_text()
)
SECRET_KEY: Final = "the-key-of-a-program-that-was-there-before-its-modules-moved"
NOW: Final = dt.datetime(2026, 11, 4, 18, 30, tzinfo=dt.UTC)
TODAY: Final = NOW.date()
YESTERDAY: Final = NOW - dt.timedelta(days=1)
PUBLISHED: Final = dt.datetime(2026, 11, 1, 9, 0, tzinfo=dt.UTC)
FIRST_PK: Final = 910_000
"""Above whatever the sequences of a test database give."""


def public(number: int) -> uuid.UUID:
    return uuid.UUID(f"5e1f0000-0000-4000-8000-{number:012}")


def as_before(settings: Any, monkeypatch: pytest.MonkeyPatch) -> SimpleNamespace:
    """The rows, the key that everything was signed with, and the evening on which it was taken."""
    settings.SECRET_KEY = SECRET_KEY
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)
    return rows_of_before()


def rows_of_before() -> SimpleNamespace:
    """A family, its coach, a session at home, one logged the day before, one at the venue for two
    children, a plan that is not published, and a figure: each with the id it had then."""
    guardian = UserFactory(pk=910_001, name="Own Parent", password="!a-password-nobody-has")
    coach = UserFactory(pk=910_002, name="Owning Coach", role="coach")
    cohort = CohortFactory(pk=910_003, name="Own cohort", coached_by=[coach])
    child = ChildFactory(
        pk=910_004, public_id=public(4), given_name="Mira", cohort=cohort, guardian=guardian
    )
    teammate = ChildFactory(pk=910_005, public_id=public(5), given_name="Ivo", cohort=cohort)
    block = BlockFactory(pk=910_006, cohort=cohort, name="Strong steps")
    step, easier, hold = _revisions()
    at_home = _assigned(block, child, 910_010, "Step and hold", TODAY)
    sided = {"easier_revision": easier, "easier_amount": 3, "easier_tempo": "3-1-1-0"}
    _slot(at_home, 910_011, step, amount=4, part=0, **sided)
    _slot(at_home, 910_012, hold, amount=20, part=1, tempo="")
    logged = _assigned(block, child, 910_020, "Step again", TODAY - dt.timedelta(days=1))
    _slot(logged, 910_021, step, amount=4, part=0)
    _log(logged, guardian, effort=4, minutes=20)
    venue = SessionFactory(
        pk=910_030,
        block=block,
        name="Hop and hang",
        date=TODAY,
        place="venue",
        published_at=PUBLISHED,
        published_version=1,
    )
    for number, each in enumerate((child, teammate)):
        there = _assigned(block, each, 910_031 + number, venue.name, TODAY, session=venue)
        _slot(there, 910_033 + number, hold, amount=10, part=0, tempo="")
    _log(there, coach, effort=3, minutes=22)
    SessionNote.objects.create(
        session=venue, text="Cold hall.", written_at=YESTERDAY, written_by=coach
    )
    CalendarFeed.objects.give(guardian, public(7), PUBLISHED)
    TakenOutSession.objects.create(
        public_id=public(8), child=child, name="Called off", date=TODAY, taken_out_at=YESTERDAY
    )
    plan = _plan(block, step, hold)
    holidays = Break.objects.create(
        pk=910_060, cohort=cohort, name="Days away", first=TODAY, last=TODAY, set_by=coach
    )
    note = step.exercise.notes.create(
        pk=910_061, text="Shoes off.", kept_at=YESTERDAY, kept_by_name="Owning Coach"
    )
    in_a_week = NOW + dt.timedelta(days=7)
    return SimpleNamespace(**locals())


def _revisions() -> tuple[ExerciseRevision, ...]:
    step = ExerciseFactory(
        pk=910_040,
        slug="kept-step",
        revision__pk=910_041,
        revision__name="Slow step down",
        revision__sides="each",
        revision__loads=["knee"],
        revision__moves=[],
    )
    easier = ExerciseFactory(
        pk=910_042,
        slug="kept-book-step",
        revision__pk=910_043,
        revision__name="Step down from a book",
        revision__sides="each",
    )
    hold = ExerciseFactory(
        pk=910_044,
        slug="kept-plank",
        revision__pk=910_045,
        revision__name="Front plank",
        revision__measure="seconds",
        revision__tempo="",
        revision__loads=["shoulder"],
        revision__moves=[],
    )
    return step.current, easier.current, hold.current


def _assigned(
    block: Block, child: Child, pk: int, name: str, date: dt.date, **details: Any
) -> AssignedSession:
    session = details.pop("session", None) or SessionFactory(
        pk=pk, block=block, name=name, date=date, published_at=PUBLISHED, published_version=1
    )
    return AssignedSessionFactory(
        pk=pk,
        public_id=public(pk),
        session=session,
        child=child,
        place=session.place,
        published_at=PUBLISHED,
        fingerprint=f"{pk:064}",
        **details,
    )


def _slot(
    assigned: AssignedSession, pk: int, revision: ExerciseRevision, part: int, **details: Any
) -> None:
    AssignedSlotFactory(
        pk=pk,
        assigned_session=assigned,
        part_position=part,
        revision=revision,
        rounds=1,
        **details,
    )


def _log(assigned: AssignedSession, by: Any, **said: Any) -> None:
    CompletionFactory(
        assigned_session=assigned, state="done", logged_at=YESTERDAY, logged_by=by, **said
    )


def _plan(block: Block, *revisions: ExerciseRevision) -> Any:
    """A session that was written and not yet published."""
    session = SessionFactory(
        pk=910_050, block=block, name="Next step", date=TODAY + dt.timedelta(days=1), note="Socks."
    )
    part = PartFactory(pk=910_051, session=session, name="Warm-up")
    for position, revision in enumerate(revisions):
        timed = {} if revision.tempo else {"tempo": ""}
        SlotFactory(
            pk=910_052 + position,
            part=part,
            position=position,
            exercise=revision.exercise,
            note="Quietly.",
            **timed,
        )
    return session
