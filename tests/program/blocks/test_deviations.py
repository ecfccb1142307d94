"""Who gets a block as it is written, and whose block strays from it most."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from program.blocks.deviations import NOT_SENT, Deviation, deviations
from program.blocks.one_child import ChildBlock, child_block
from program.common.loaders import enrolments_of_block
from program.common.volume_tables import beside_sheet
from program.engine.fit.reasons import IN_SHORT, ReasonCode
from program.models import AssignedSlot, Slot
from program.publish.publishing import publish
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.sliding import has

pytestmark = pytest.mark.django_db

A_DAY, A_WEEK = dt.timedelta(days=1), dt.timedelta(weeks=1)


@pytest.fixture
def block(cast):
    """Two weeks, each with one session: a step-up, for which a step is needed, and a march."""
    floor = ExerciseFactory(slug="floor-step")
    step_up = ExerciseFactory(slug="step-up", revision__needs=[("a low step", ["low-step"])])
    PathwayFactory(slug="steps", chain=[floor, step_up])
    march = ExerciseFactory(slug="march")
    block = BlockFactory(cohort=cast.cohort, ends_on=MONDAY + 2 * A_WEEK - A_DAY)
    for week in range(2):
        made = SessionFactory(block=block, date=MONDAY + week * A_WEEK + A_DAY)
        part = PartFactory(session=made)
        SlotFactory(part=part, exercise=step_up)
        SlotFactory(part=part, exercise=march, position=1)
    return block


@pytest.fixture
def has_step(cast, block):
    """A child of the cohort, last by name, with a step at home."""
    child = ChildFactory(given_name="Zoe", cohort=cast.cohort)
    has(child, "low-step")
    return child


def rows(cast, block):
    found = deviations(cast.coach, block, enrolments_of_block(cast.coach, block))
    return [(row.child, row.not_as_written, row.total, row.whys) for row in found]


def test_whoever_strays_furthest_stands_first_and_it_is_told_why(cast, block, has_step):
    # Two exercises in two sessions are four; without a step, one of each session is another.
    assert rows(cast, block) == [
        (cast.child, 2, 4, [("kit or room missing", 2)]),
        (has_step, 0, 4, []),
    ]
    for region in ("knee", "thigh"):
        has_step.restrictions.create(
            region=region, kind="nothing", start=MONDAY, until=block.ends_on
        )
    assert [(child, count) for child, count, *_ in rows(cast, block)] == [
        (has_step, 4),
        (cast.child, 2),
    ]


def test_what_was_published_counts_as_it_was_sent(cast, block):
    first = block.sessions.earliest("date")
    publish(first, cast.coach, timezone.now(), because="It is known.")
    has(cast.child, "low-step")
    # Sent without a step; what is still a draft is fitted with the step that is there now.
    assert rows(cast, block) == [(cast.child, 1, 4, [("kit or room missing", 1)])]


def test_what_was_written_after_publishing_is_not_in_what_was_sent(cast, block):
    first = block.sessions.earliest("date")
    publish(first, cast.coach, timezone.now(), because="It is known.")
    SlotFactory(part=first.parts.get(), exercise=ExerciseFactory(), position=2)
    assert rows(cast, block) == [
        (cast.child, 3, 5, [("kit or room missing", 2), (NOT_SENT, 1)]),
    ]
    # What is written no more is not asked of anybody.
    Slot.objects.filter(part__session=first, exercise__slug="march").delete()
    assert AssignedSlot.objects.filter(written_slot=None).count() == 1
    assert rows(cast, block)[0][1:3] == (3, 4)


def test_only_the_childs_own_days_in_the_cohort_count(cast, block):
    cast.child.enrolments.update(end=MONDAY + 3 * A_DAY)
    assert rows(cast, block) == [(cast.child, 1, 2, [("kit or room missing", 1)])]
    cast.child.enrolments.update(end=MONDAY)
    assert rows(cast, block) == [(cast.child, 0, 0, [])]


def test_the_page_says_it_and_leads_to_each_child(cast, client_for, block, has_step):
    address = reverse("program:block_children", args=[block.pk])
    html = client_for(cast.coach).get(address).content.decode()
    assert '<b class="num">2 of 4</b> exercises not as written' in html
    assert "2 × kit or room missing" in html
    assert "all 4 exercises as written" in html
    first, second = (
        html.index(reverse("program:block_of_child", args=[block.pk, child.public_id]))
        for child in (cast.child, has_step)
    )
    assert first < second
    assert client_for(cast.other_coach).get(address).status_code == 404


def test_the_childs_own_page_counts_the_same(cast, client_for, block):
    first = block.sessions.earliest("date")
    publish(first, cast.coach, timezone.now(), because="It is known.")
    SlotFactory(part=first.parts.get(), exercise=ExerciseFactory(), position=2)
    (row,) = deviations(cast.coach, block, enrolments_of_block(cast.coach, block))
    own = list(cast.child.enrolments.select_related("child"))
    assert child_block(cast.coach, block, own).deviation == row
    address = reverse("program:block_of_child", args=[block.pk, cast.child.public_id])
    html = client_for(cast.coach).get(address).content.decode()
    assert '<b class="num">3 of 5</b> exercises not as written' in html
    assert "2 × kit or room missing" in html


@pytest.mark.parametrize(
    ("sent", "chosen", "words"),
    [
        (1, 0, "1 session as it was published"),
        (0, 2, "2 still to be published, as fit would choose them today"),
        (
            2,
            1,
            "2 sessions as they were published; "
            "1 still to be published, as fit would choose it today",
        ),
    ],
)
def test_the_childs_own_page_says_which_sessions_it_adds_up(cast, sent, chosen, words):
    gets = ChildBlock(beside_sheet([], []), sent, chosen, Deviation(cast.child))
    assert "; ".join(gets.counted) == words


def test_every_reason_has_its_few_words():
    assert set(IN_SHORT) == set(ReasonCode)
    assert max(len(words.split()) for words in IN_SHORT.values()) <= 5
