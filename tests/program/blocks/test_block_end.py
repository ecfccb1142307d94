"""When a block ends, one page says what is still to be seen to."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from program.blocks.block_end import end_of
from program.models import Break, Report
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    PathwayFactory,
    SessionFactory,
)
from tests.support.family import text

pytestmark = pytest.mark.django_db
WEEK = dt.timedelta(weeks=1)
DAY = dt.timedelta(days=1)


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort, ends_on=MONDAY + 2 * WEEK - DAY)


def page(coach, block):
    return text(coach.get(reverse("program:block_end", args=[block.pk])))


def test_reports_not_sent_what_follows_holidays_and_placements_stand_on_one_page(
    cast, coach, block
):
    exercise = ExerciseFactory()
    pathway = PathwayFactory(chain=[exercise, ExerciseFactory()])
    early, late = ChildFactory(cohort=cast.cohort), ChildFactory(cohort=cast.cohort)
    ChildFactory(cohort=cast.cohort)
    for child, day in ((early, MONDAY - WEEK), (late, MONDAY + DAY)):
        at = timezone.make_aware(dt.datetime.combine(day, dt.time(12)))
        child.placements.create(pathway=pathway, exercise=exercise, placed_at=at)
    now = timezone.now()
    Report.objects.create(block=block, child=early, generated_at=now, sent_at=now)
    Report.objects.create(block=block, child=late)
    told = page(coach, block)
    # Mira of the cast is in the cohort, too: of four two are placed nowhere.
    assert "1 family has no report yet; 1 sent." in told
    assert "None follows." in told
    assert "None is entered for the weeks after it." in told
    assert "2 children are placed nowhere and 1 child was not placed anew since" in told


def test_what_lies_between_two_blocks_is_said_unless_it_is_holidays(cast, coach, block):
    following = BlockFactory(
        cohort=cast.cohort, name="Spring", starts_on=MONDAY + 4 * WEEK, ends_on=MONDAY + 6 * WEEK
    )
    SessionFactory(block=following, date=following.starts_on)
    between = (MONDAY + 2 * WEEK, MONDAY + 4 * WEEK - DAY)
    assert end_of(cast.coach, block).free == between
    told = page(coach, block)
    assert "Spring begins on Monday 30 November; 1 session written." in told
    assert "Nothing is planned from 16 November to 29 November." in told
    Break.objects.create(name="Holidays", first=between[0], last=between[1])
    assert end_of(cast.coach, block).free is None
    assert "Holidays: 16 November to 29 November" in page(coach, block)
