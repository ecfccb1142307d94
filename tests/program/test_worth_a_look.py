import datetime as dt

import pytest
from django.urls import reverse

from athletes.models import HomeKit
from program.models import Session
from program.worth_a_look import worth_a_look
from tests.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    ItemFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort)


def session_of(block, pattern="squat", day=MONDAY, **exercise) -> Session:
    session = SessionFactory(block=block, date=day)
    SlotFactory(
        part=PartFactory(session=session, rounds=2),
        exercise=ExerciseFactory(revision__pattern=pattern, **exercise),
    )
    return Session.objects.with_plan().get(pk=session.pk)


def codes(session) -> set[str]:
    return {each.code for each in worth_a_look(session)}


def test_a_warm_up_is_known_by_its_name(block):
    session = session_of(block)
    assert {each.sentence for each in worth_a_look(session) if each.code == "warm_up"} == {
        # 10 s to get ready and twice 8 × 5 s, at 3-1-1-0, with no rest: 90 s.
        "The warm-up takes 1:30; five to ten minutes are usual."
    }
    session.parts.update(name="Squats")
    without = Session.objects.with_plan().get(pk=session.pk)
    assert "There is no warm-up." in {each.sentence for each in worth_a_look(without)}


def test_landings_are_held_against_each_childs_placement(cast, block):
    session = session_of(block, "land", revision__contacts=1, revision__name="Hop and freeze")
    assert "landing_first" in codes(session)


def test_what_a_family_has_not_said_counts_as_a_usual_home(cast, block):
    rope = ("a skipping rope", ["skipping-rope"])
    seat = ("a stable seat", ["dining-chair"])
    session = session_of(block, revision__needs=[rope, seat])
    assert {each.sentence for each in worth_a_look(session) if each.code == "kit"} == {
        "1 family has no skipping rope."
    }
    HomeKit.objects.create(child=cast.child).items.set([ItemFactory(slug="skipping-rope")])
    assert {each.sentence for each in worth_a_look(session) if each.code == "kit"} == {
        "1 family has no stable seat."
    }


def test_a_push_last_week_is_a_push_within_two_weeks(block):
    for days in (-14, -7):
        for pattern in ("pull", "hinge", "front_brace"):
            session_of(block, pattern, MONDAY + dt.timedelta(days=days))
    session = session_of(block)
    sentences = {each.sentence for each in worth_a_look(session)}
    assert "No pushing for two weeks." in sentences
    session_of(block, "push", MONDAY - dt.timedelta(days=7))
    assert "No pushing for two weeks." not in {each.sentence for each in worth_a_look(session)}


def test_another_cohorts_days_do_not_count(cast, block):
    elsewhere = BlockFactory(cohort=cast.other_cohort)
    for days in (1, 2, 3, 4):
        session_of(elsewhere, day=MONDAY + dt.timedelta(days=days))
    assert not {"training_days", "consecutive_days"} & codes(session_of(block))


def test_the_look_takes_twelve_queries_for_one_child_as_for_thirty(
    cast, block, client_for, django_assert_max_num_queries
):
    session = session_of(block, revision__needs=[("a wall", ["wall"])])
    coach, address = client_for(cast.coach), reverse("program:look", args=[session.pk])
    HomeKit.objects.create(child=cast.child).items.set([ItemFactory(slug="wall")])

    def cost() -> int:
        with django_assert_max_num_queries(12) as counted:
            assert coach.get(address).status_code == 200
        return len(counted)

    few = cost()
    for _ in range(29):
        ChildFactory(cohort=cast.cohort)
    for position in range(1, 8):
        SlotFactory(part=session.parts.get(), position=position)
    assert cost() == few


def test_another_cohorts_coach_may_not_look(cast, block, client_for):
    address = reverse("program:look", args=[session_of(block).pk])
    assert client_for(cast.other_coach).get(address).status_code == 404
