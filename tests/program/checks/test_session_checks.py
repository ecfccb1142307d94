import datetime as dt

import pytest
from django.urls import reverse

from athletes.models import Child
from program.checks.block_checks import results_for_block
from program.checks.session_checks import results_for_session
from program.common.library_snapshot import library_snapshot
from program.common.session_plan import plan_of
from program.models import CheckChange, Session, StopReason
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    ItemFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.sliding import has

pytestmark = pytest.mark.django_db


@pytest.fixture
def block(cast):
    return BlockFactory(cohort=cast.cohort)


def session_of(block, pattern="squat", day=MONDAY, place="home", **exercise) -> Session:
    session = SessionFactory(block=block, date=day, place=place)
    SlotFactory(
        part=PartFactory(session=session, kind="warm_up", rounds=2),
        exercise=ExerciseFactory(revision__pattern=pattern, **exercise),
    )
    return Session.objects.with_plan().get(pk=session.pk)


def sentences(session, code="") -> set[str]:
    found = (look.result for look in results_for_session(session))
    return {each.sentence for each in found if code in {"", each.code}}


def codes(session) -> set[str]:
    return {look.result.code for look in results_for_session(session)}


def block_look(block):
    sessions = list(Session.objects.with_plan().filter(block=block))
    return results_for_block(block, sessions, {each.pk: plan_of(each) for each in sessions})


def test_a_warm_up_is_known_by_its_kind_whatever_it_is_called(block):
    session = session_of(block)
    assert sentences(session, "warm_up_length") == {
        # 10 s to get ready and twice 8 × 5 s, at 3-1-1-0, with no rest: 90 s.
        "The warm-up takes 1:30; 5 to 10 minutes are usual."
    }
    session.parts.update(name="Squats")
    renamed = Session.objects.with_plan().get(pk=session.pk)
    assert sentences(renamed, "warm_up_length")
    session.parts.update(name="Warm-up", kind="circuit")
    without = Session.objects.with_plan().get(pk=session.pk)
    assert "There is no warm-up." in sentences(without)


def test_landings_are_held_against_each_childs_placement(cast, block):
    session = session_of(block, "land", revision__contacts=1, revision__name="Hop and freeze")
    assert sentences(session, "landing_first") == {
        "1 child meets Hop and freeze before anybody placed them on landing."
    }
    landing = PathwayFactory(pattern="land", chain=[ExerciseFactory(), ExerciseFactory()])
    cast.child.placements.create(
        pathway=landing,
        exercise=landing.steps.get().easier,
        placed_at=dt.datetime(2026, 11, 1, tzinfo=dt.UTC),
    )
    assert "landing_first" not in codes(session)


def test_contacts_are_held_against_a_ceiling_that_a_growth_spurt_halves(cast, block):
    # 8 repetitions × 4 contacts × 2 rounds: 64. A child of 11 has 80, in a growth spurt 40.
    session = session_of(block, "skip", revision__contacts=4)
    assert "contacts" not in codes(session)
    Child.objects.filter(pk=cast.child.pk).update(growing_fast_until=MONDAY)
    assert sentences(session, "contacts") == {
        "64 ground contacts: more than is usual for 1 of 1 child; the lowest ceiling here is 40."
    }
    Child.objects.filter(pk=cast.child.pk).update(growing_fast_until=MONDAY - dt.timedelta(days=1))
    assert "contacts" not in codes(session)


def test_what_a_family_has_not_said_counts_as_a_usual_home(cast, block):
    rope = ("a skipping rope", ["skipping-rope"])
    seat = ("a stable seat", ["dining-chair"])
    session = session_of(block, revision__needs=[rope, seat])
    assert sentences(session, "kit") == {"1 family has no skipping rope."}
    has(cast.child, "skipping-rope")
    assert sentences(session, "kit") == {"1 family has no stable seat."}


def test_a_family_that_said_it_has_nothing_has_nothing(cast, block):
    has(cast.child)
    session = session_of(block, revision__needs=[("a stable seat", ["dining-chair"])])
    assert sentences(session, "kit") == {"1 family has no stable seat."}


def test_an_exercise_is_for_nobody_where_no_one_home_has_all_it_needs(cast, block):
    rope, seat = ("a skipping rope", ["skipping-rope"]), ("a stable seat", ["dining-chair"])
    other = ChildFactory(cohort=cast.cohort)
    has(cast.child, "skipping-rope")
    has(other, "dining-chair")
    session = session_of(block, revision__name="Rope chair", revision__needs=[rope, seat])
    told = {"Rope chair: what it needs is not at anybody’s home."}
    assert sentences(session, "kit_of_nobody") == told
    other.home_kit.items.add(ItemFactory(slug="skipping-rope"))
    assert sentences(session, "kit_of_nobody") == set()


def test_at_the_venue_it_is_the_venue_that_must_have_it(cast, block):
    needs = [("a low box", ["low-box"])]
    session = session_of(block, place="venue", revision__name="Box step", revision__needs=needs)
    assert sentences(session, "kit_of_nobody") == {"Box step: what it needs is not at the venue."}
    cast.cohort.venue_items.add(ItemFactory(slug="low-box"))
    assert sentences(session, "kit_of_nobody") == set()


def test_a_push_last_week_is_a_push_within_two_weeks(block):
    for pattern in ("pull", "hinge", "front_brace"):
        session_of(block, pattern, MONDAY - dt.timedelta(days=7))
    session = session_of(block)
    assert "No pushing for two weeks." in sentences(session)
    session_of(block, "push", MONDAY - dt.timedelta(days=7))
    assert "No pushing for two weeks." not in sentences(session)


def test_another_cohorts_days_do_not_count(cast, block):
    elsewhere = BlockFactory(cohort=cast.other_cohort)
    for days in (1, 2, 3, 4):
        session_of(elsewhere, day=MONDAY + dt.timedelta(days=days))
    assert not {"strength_days", "consecutive_days"} & codes(session_of(block))


def test_a_week_is_counted_from_the_blocks_first_day(cast):
    thursday = MONDAY + dt.timedelta(days=3)
    block = BlockFactory(cohort=cast.cohort, starts_on=thursday)
    for days in (0, 2, 4):
        session_of(block, day=thursday + dt.timedelta(days=days))
    # The Wednesday after is still the block's first week: its fourth strength day.
    session = session_of(block, day=thursday + dt.timedelta(days=6))
    assert "4 strength days this week; at most 3 are usual." in sentences(session)


def test_what_the_program_switched_off_says_nothing_in_the_builder_and_on_the_block(cast, block):
    session = session_of(block)
    assert "warm_up_length" in codes(session)
    now = dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    CheckChange.objects.create(code="warm_up_length", is_off=True, reason="We play first.", at=now)
    assert "warm_up_length" not in codes(session)
    of_block = block_look(block).of_session(session.pk)
    assert "warm_up_length" not in {each.code for each in of_block}


def test_a_reason_that_was_kept_stands_beside_its_stop(cast, block):
    session = session_of(block, "land", revision__contacts=1)
    (stop,) = (look for look in results_for_session(session) if look.result.level == "stop")
    assert stop.is_open_stop
    StopReason.objects.create(
        session=session,
        code=stop.result.code,
        sentence=stop.result.sentence,
        children=[cast.child.pk],
        reason="I watched.",
        by=cast.coach,
        at=dt.datetime(2026, 11, 1, tzinfo=dt.UTC),
    )
    (kept,) = (look for look in results_for_session(session) if look.result.level == "stop")
    assert (kept.is_open_stop, kept.kept.reason) == (False, "I watched.")


def test_the_block_finds_what_the_builder_finds(cast, block):
    ChildFactory(cohort=cast.cohort, growing_fast_until=MONDAY)
    rope = [("a skipping rope", ["skipping-rope"])]
    earlier = BlockFactory(cohort=cast.cohort, starts_on=MONDAY - dt.timedelta(weeks=4))
    session_of(earlier, "pull", MONDAY - dt.timedelta(days=1))
    sessions = [
        session_of(block, "squat", MONDAY, revision__needs=rope),
        session_of(block, "land", MONDAY + dt.timedelta(days=1), revision__contacts=3),
        session_of(block, "skip", MONDAY + dt.timedelta(days=9), revision__contacts=9),
    ]
    of_block = block_look(block)
    for session in sessions:
        week = block.week_of(session.date)
        there = (*of_block.of_session(session.pk), *of_block.of_week(week))
        in_builder = [look.result for look in results_for_session(session)]
        assert sorted(map(str, there)) == sorted(map(str, in_builder))
    assert [each.code for each in of_block.stops(sessions[1].pk)] == ["landing_first"]
    assert of_block.volumes[0].of_pattern("land").sets == 2


def test_a_block_is_looked_at_in_three_queries_however_long(cast, block, django_assert_num_queries):
    def cost(weeks: int) -> None:
        for week in range(weeks):
            session_of(block, day=MONDAY + dt.timedelta(weeks=week))
            ChildFactory(cohort=cast.cohort)
        sessions = list(Session.objects.with_plan().filter(block=block))
        plans = {each.pk: plan_of(each) for each in sessions}
        with django_assert_num_queries(3):
            results_for_block(block, sessions, plans)

    cost(1)
    cost(6)


def test_the_look_takes_nineteen_queries_for_one_child_as_for_thirty(
    cast, block, client_for, django_assert_max_num_queries
):
    session = session_of(block, revision__needs=[("a wall", ["wall"])])
    coach, address = client_for(cast.coach), reverse("program:look", args=[session.pk])
    has(cast.child, "wall")

    def cost() -> int:
        library_snapshot()
        with django_assert_max_num_queries(19) as counted:
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
