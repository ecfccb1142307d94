"""What families say of sport outside the program, in the checks of a cohort's week."""

import datetime as dt
from decimal import Decimal

import pytest

from athletes.models import Child, DifferentWeek
from athletes.sport_elsewhere import UsualSport, say_usual, say_week
from program.checks.block_checks import results_for_block
from program.checks.session_checks import results_for_session
from program.common.session_plan import plan_of
from program.models import Session
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)

pytestmark = pytest.mark.django_db

NOW = dt.datetime(2026, 11, 2, 10, tzinfo=dt.UTC)
CODES = {"rest_days_with_sport", "sport_hours"}


@pytest.fixture
def sessions(cast):
    """On Tuesday and Thursday of the first week, an hour each, for a child of ten."""
    Child.objects.filter(pk=cast.child.pk).update(birth_date=dt.date(2016, 5, 1))
    block = BlockFactory(cohort=cast.cohort)
    for plus in (1, 3):
        day = MONDAY + dt.timedelta(days=plus)
        session = SessionFactory(block=block, date=day, target_minutes=60)
        SlotFactory(part=PartFactory(session=session), exercise=ExerciseFactory())
    return list(Session.objects.with_plan().filter(block=block))


def told(sessions) -> set[str]:
    """The same to the builder and to the block board."""
    of_session = {each.result for each in results_for_session(sessions[0])}
    of_block = results_for_block(
        sessions[0].block, sessions, {each.pk: plan_of(each) for each in sessions}
    ).of_week(1)
    assert {each for each in of_session if each.code in CODES} == {
        each for each in of_block if each.code in CODES
    }
    return {each.sentence for each in of_block if each.code in CODES}


def test_hours_and_days_elsewhere_are_counted_with_those_here(cast, sessions):
    assert told(sessions) == set()
    busy = UsualSport(Decimal("8.5"), school=[1], club=[1, 3, 5], matches=[6, 7])
    say_usual(cast.child, busy, MONDAY, cast.guardian, NOW)
    # 8.5 and 2 hours at ten years; Tuesday and Thursday here, all other days elsewhere.
    assert told(sessions) == {
        "No day off this week for 1 child, with sport elsewhere.",
        "10.5 hours of sport this week, with sport elsewhere: more than years of age for 1 child.",
    }
    say_week(cast.child, MONDAY, DifferentWeek.How.NOTHING, cast.guardian, NOW)
    assert told(sessions) == set()


def test_what_is_said_of_a_later_week_is_not_of_this_one(cast, sessions):
    later = MONDAY + dt.timedelta(weeks=1)
    say_usual(cast.child, UsualSport(Decimal(20), club=[1]), later, cast.guardian, NOW)
    assert told(sessions) == set()
