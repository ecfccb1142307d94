"""A block's own times between work, on every clock."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from program.common.session_plan import plan_of
from program.family.follow_along import follow_data
from program.models import AssignedSession, Block, Session
from program.publish.publishing import publish
from tests.support.factories import (
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)

pytestmark = pytest.mark.django_db

UNHURRIED = {"get_ready": 20, "change_side": 8, "move_on": 12, "breather": 15, "drink": 40}
# Ready 20, eight times 5 s, breather 15, move on 12, left 10, change 8, right 10;
# drink 40, ready 20, six times 3 s.
BY_HAND = (20 + 8 * 5 + 15 + 12 + 10 + 8 + 10) + (40 + 20 + 6 * 3)


@pytest.fixture
def session(cast) -> Session:
    session = SessionFactory(block=BlockFactory(cohort=cast.cohort, **UNHURRIED))
    warm_up = PartFactory(session=session, position=0, rounds=1)
    SlotFactory(part=warm_up, position=0, amount=8, tempo="3-1-1-0", rest_seconds=None)
    hold = ExerciseFactory(revision__measure="seconds", revision__tempo="", revision__sides="each")
    SlotFactory(part=warm_up, position=1, exercise=hold, amount=10, tempo="", rest_seconds=None)
    last = PartFactory(session=session, position=1, rounds=1)
    SlotFactory(part=last, position=0, amount=6, tempo="2-0-1-0", rest_seconds=None)
    return session


def published(session, cast) -> AssignedSession:
    publish(session, by=cast.coach, now=session.edited_at, because="I watch it.")
    return AssignedSession.objects.with_slots().get()


def test_the_builder_the_sheet_and_the_clock_at_home_count_with_the_blocks_pauses(
    session, cast, monday
):
    written = plan_of(Session.objects.with_plan().get())
    assigned = published(session, cast)
    steps = follow_data(assigned, {})["steps"]
    assert written.seconds == assigned.seconds == plan_of(assigned).seconds == BY_HAND
    assert sum(step["seconds"] for step in steps) == BY_HAND


def test_what_is_published_keeps_its_clock_until_it_is_published_again(session, cast, monday):
    published(session, cast)
    Block.objects.update(drink=60)
    session = Session.objects.get()
    assert plan_of(AssignedSession.objects.with_slots().get()).seconds == BY_HAND
    assert published(session, cast).seconds == BY_HAND + 20


def test_easier_and_left_out_follow_the_pauses_too(session, cast, monday):
    data = follow_data(published(session, cast), {})
    assert data["pace"] == {"get_ready": 20, "move_on": 12}
    changes = [
        bout["seconds"]
        for slot in data["slots"].values()
        for bout in slot["bouts"]
        if bout["kind"] == "change_side"
    ]
    assert changes == [8]


def test_a_new_block_begins_with_the_pauses_of_the_cohorts_latest(cast, client_for):
    spring = {"starts_on": dt.date(2026, 1, 5), "ends_on": dt.date(2026, 3, 1)}
    BlockFactory(cohort=cast.cohort, drink=90, **spring)
    BlockFactory(cohort=cast.cohort, starts_on=dt.date(2026, 9, 7), drink=45)
    address = reverse("program:block_new")
    coach = client_for(cast.coach)
    form = coach.get(address, {"cohort": cast.cohort.pk}, follow=True).context["form"]
    assert form["drink"].value() == 45
    for nobodys in ("", "an owl", "9" * 30, str(BlockFactory(drink=90).cohort.pk)):
        form = coach.get(address, {"cohort": nobodys}, follow=True).context["form"]
        assert form["drink"].value() == 20


@pytest.mark.parametrize("typed", ["121", "-1", "a while", "1.5", ""])
def test_a_pause_of_more_than_two_minutes_or_none_at_all_is_refused_at_its_field(
    cast, client_for, typed
):
    block = BlockFactory(cohort=cast.cohort)
    facts = {"name": block.name, "starts_on": block.starts_on, "ends_on": block.ends_on}
    answer = client_for(cast.coach).post(
        reverse("program:block_edit", args=[block.pk]), {**facts, **block.pauses, "move_on": typed}
    )
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["move_on"]


def test_the_database_holds_no_longer_pause(cast):
    with pytest.raises(IntegrityError, match="pauses_at_most"), transaction.atomic():
        BlockFactory(cohort=cast.cohort, breather=121)
