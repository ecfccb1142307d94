import datetime as dt

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.changes import (
    Rule,
    answer_kit,
    enrol,
    lift,
    place,
    place_all,
    restrict,
    set_growing_fast,
    withdraw,
)
from athletes.models import Child, Enrolment, HomeKit, Placement, Restriction
from athletes.signals import circumstances_changed
from library.body import Region, RestrictionKind, Side
from tests.athletes.conftest import NOW
from tests.support.factories import ChildFactory, ExerciseFactory, ItemFactory, PathwayFactory

pytestmark = pytest.mark.django_db

TODAY = NOW.date()
PLACING = 11


def day(offset: int) -> dt.date:
    return TODAY + dt.timedelta(days=offset)


def knee(start: int = 0, until: int = 10, **details) -> Rule:
    rule = {"region": Region.KNEE, "side": Side.LEFT, "kind": RestrictionKind.NO_LANDING}
    return Rule(**(rule | {"start": day(start), "until": day(until)} | details))


@pytest.fixture
def squats():
    exercises = [ExerciseFactory(slug=slug) for slug in ("half-squat", "squat", "goblet")]
    return PathwayFactory(slug="squat", chain=exercises), exercises


# Placements


def test_placing_a_child_ends_the_placement_before_and_keeps_it(cast, squats, now):
    pathway, (easy, hard, _) = squats
    first = place(cast.child, pathway, easy, cast.coach, "Seen on Monday.")
    second = place(cast.child, pathway, hard, cast.coach, "Two sessions of eight.")
    first.refresh_from_db()
    assert (first.ended_at, second.ended_at) == (now, None)
    assert (second.placed_by, second.why) == (cast.coach, "Two sessions of eight.")
    assert list(cast.child.placements.current()) == [second]


def test_placing_a_child_where_it_stands_changes_nothing(cast, squats, told):
    pathway, (easy, *_) = squats
    first = place(cast.child, pathway, easy, cast.coach, "Once.")
    told.clear()
    again = place(cast.child, pathway, easy, cast.head_coach, "Twice.")
    assert (again, Placement.objects.count(), told) == (first, 1, [])


def test_a_placement_made_by_a_fast_clock_can_still_be_ended(cast, squats, now):
    pathway, (easy, hard, _) = squats
    ahead = place(cast.child, pathway, easy, cast.coach)
    Placement.objects.filter(pk=ahead.pk).update(placed_at=now + dt.timedelta(seconds=3))
    place(cast.child, pathway, hard, cast.coach)
    ahead.refresh_from_db()
    assert ahead.ended_at == ahead.placed_at


@pytest.mark.parametrize("status", ["retired", "draft"])
def test_a_child_is_not_placed_on_an_exercise_that_is_not_published(cast, squats, status):
    pathway, (easy, *_) = squats
    easy.status = status
    easy.save()
    with pytest.raises(ValidationError, match="Half squat is not published"):
        place(cast.child, pathway, easy, cast.coach)
    assert not Placement.objects.exists()


def test_a_child_is_not_placed_on_an_exercise_of_another_pathway(cast, squats):
    pathway, _ = squats
    stranger = ExerciseFactory(slug="plank")
    with pytest.raises(ValidationError, match="Plank is not on the pathway"):
        place(cast.child, pathway, stranger, cast.coach)


def test_placing_on_many_pathways_takes_as_many_queries_as_on_one(cast, django_assert_num_queries):
    def choices(count):
        return {
            PathwayFactory(chain=[easy, ExerciseFactory()]): easy
            for easy in (ExerciseFactory() for _ in range(count))
        }

    few, many = choices(1), choices(9)
    # savepoint, three for the ladders, lock, current, insert, release; and nothing ahead of the
    # child to close, what was decided until it is placed on landing, and the worker's row
    with django_assert_num_queries(PLACING):
        place_all(cast.child, few, cast.coach)
    with django_assert_num_queries(PLACING):
        place_all(cast.child, many, cast.coach)


# Restrictions


def test_a_restriction_is_set_and_expires_by_itself(cast):
    restrict(cast.child, knee(until=3), cast.coach, TODAY)
    in_force = {n: Restriction.objects.in_force(day(n)).count() for n in (-1, 0, 3, 4)}
    assert in_force == {-1: 0, 0: 1, 3: 1, 4: 0}


def test_the_same_restriction_on_overlapping_days_is_stretched_to_cover_both(cast):
    restrict(cast.child, knee(0, 10, note="Twisted."), cast.coach, TODAY)
    done = restrict(cast.child, knee(5, 20), cast.guardian, TODAY)
    row = Restriction.objects.get()
    assert (row.start, row.until, row.set_by) == (day(0), day(20), cast.guardian)
    assert (row.note, done.before, done.changed) == ("Twisted.", day(10), True)
    assert "was set already until 14 November 2026. It now holds until 24" in done.in_words


def test_a_restriction_that_is_covered_already_shortens_nothing(cast, told):
    restrict(cast.child, knee(0, 10), cast.coach, TODAY)
    told.clear()
    done = restrict(cast.child, knee(2, 4), cast.guardian, TODAY)
    row = Restriction.objects.get()
    assert (row.start, row.until, row.set_by) == (day(0), day(10), cast.coach)
    assert (done.changed, told) == (False, [("Mira", "restriction")])
    assert done.in_words == "Left knee: no landing was set already until 14 November 2026."


def test_a_restriction_that_joins_two_others_takes_their_place(cast):
    restrict(cast.child, knee(0, 2), cast.coach, TODAY)
    restrict(cast.child, knee(8, 12), cast.coach, TODAY)
    restrict(cast.child, knee(1, 9), cast.coach, TODAY)
    row = Restriction.objects.get()
    assert (row.start, row.until) == (day(0), day(12))


@pytest.mark.parametrize(
    "other",
    [
        {"side": Side.RIGHT},
        {"side": Side.BOTH},
        {"kind": RestrictionKind.NOTHING},
        {"region": Region.ANKLE},
    ],
)
def test_another_region_side_or_kind_stands_beside_it(cast, other):
    restrict(cast.child, knee(), cast.coach, TODAY)
    restrict(cast.child, knee(**other), cast.coach, TODAY)
    assert Restriction.objects.in_force(TODAY).count() == 2


def test_the_database_refuses_the_same_restriction_twice_on_one_day(cast):
    restrict(cast.child, knee(0, 10), cast.coach, TODAY)
    with pytest.raises(IntegrityError, match="restricted_once_at_a_time"), transaction.atomic():
        cast.child.restrictions.create(**knee().place, start=day(10), until=day(12))


def test_a_restriction_that_runs_backwards_is_refused(cast):
    with pytest.raises(ValidationError, match="cannot end before it starts"):
        restrict(cast.child, knee(3, 2), cast.coach, TODAY)
    assert not Restriction.objects.exists()


def test_lifting_early_ends_it_from_today_and_keeps_who_said_so(cast, told):
    row = restrict(cast.child, knee(-2, 10), cast.guardian, TODAY).restriction
    told.clear()
    assert lift(row, cast.coach, TODAY)
    row.refresh_from_db()
    assert (row.until, row.lifted_on, row.lifted_by) == (day(10), TODAY, cast.coach)
    assert Restriction.objects.in_force(day(-1)).count() == 1
    assert not Restriction.objects.in_force(TODAY).exists()
    assert told == [("Mira", "restriction")]


def test_lifting_twice_changes_nothing(cast, told):
    row = restrict(cast.child, knee(), cast.coach, TODAY).restriction
    lift(row, cast.coach, TODAY)
    told.clear()
    assert not lift(row, cast.head_coach, day(1))
    row.refresh_from_db()
    assert (row.lifted_on, told) == (TODAY, [])


def test_after_lifting_the_same_can_be_set_again(cast):
    row = restrict(cast.child, knee(), cast.coach, TODAY).restriction
    lift(row, cast.coach, TODAY)
    restrict(cast.child, knee(), cast.coach, TODAY)
    assert Restriction.objects.in_force(TODAY).count() == 1


def test_one_that_ended_by_itself_asks_until_somebody_answers(cast, told):
    row = restrict(cast.child, knee(-9, -1), cast.coach, day(-9)).restriction
    told.clear()
    assert list(Restriction.objects.unanswered(TODAY)) == [row]
    lift(row, cast.coach, TODAY)
    assert not Restriction.objects.unanswered(TODAY).exists()
    # It held nobody back any more, so nothing has to be fitted anew.
    assert told == []


def test_setting_it_again_is_an_answer_too(cast):
    restrict(cast.child, knee(-9, -1), cast.coach, day(-9))
    restrict(cast.child, knee(0, 5), cast.coach, TODAY)
    assert not Restriction.objects.unanswered(TODAY).exists()
    assert Restriction.objects.in_force(TODAY).count() == 1


# Kit, growth, cohorts


def test_a_new_answer_about_home_replaces_the_old_one(cast):
    answer_kit(cast.child, [ItemFactory(slug="towel"), ItemFactory(slug="sofa")], cast.guardian)
    kit = answer_kit(cast.child, [ItemFactory(slug="sofa")], cast.coach)
    assert [item.slug for item in kit.items.all()] == ["sofa"]
    assert kit.answered_by == cast.coach


def test_nothing_at_home_is_an_answer(cast, told):
    answer_kit(cast.child, [], cast.guardian)
    cast.child.refresh_from_db()
    assert not cast.child.home_kit.items.exists()
    assert told == [("Mira", "kit")]


def test_growing_fast_is_set_and_cleared(cast, told):
    assert set_growing_fast(cast.child, day(30))
    assert not set_growing_fast(cast.child, day(30))
    assert set_growing_fast(cast.child, None)
    assert not set_growing_fast(cast.child, None)
    assert Child.objects.get(pk=cast.child.pk).growing_fast_until is None
    assert told == [("Mira", "growth"), ("Mira", "growth")]


def test_a_child_is_not_enrolled_twice_in_one_cohort_at_a_time(cast):
    with pytest.raises(ValidationError, match="already in this cohort on those days"):
        enrol(cast.child, cast.cohort, TODAY)


def test_a_withdrawn_child_leaves_after_the_last_day(cast, told):
    assert withdraw(cast.child, [cast.cohort], TODAY) == [cast.cohort]
    assert cast.child in Child.objects.enrolled_in(cast.cohort, TODAY)
    assert cast.child not in Child.objects.enrolled_in(cast.cohort, day(1))
    assert told == [("Mira", "cohort")]


def test_withdrawing_ends_only_the_given_cohorts_and_drops_what_never_began(cast):
    enrol(cast.child, cast.other_cohort, TODAY)
    later = enrol(ChildFactory(given_name="Lea"), cast.cohort, day(7))
    withdraw(cast.child, [cast.cohort], TODAY)
    withdraw(later.child, [cast.cohort], TODAY)
    assert cast.child in Child.objects.enrolled_in(cast.other_cohort, day(1))
    assert not Enrolment.objects.filter(child=later.child).exists()


# Telling


def test_planners_are_told_what_changed_in_the_transaction_of_the_change(cast, squats, told):
    pathway, (easy, *_) = squats
    answer_kit(cast.child, [], cast.guardian)
    restrict(cast.child, knee(), cast.coach, TODAY)
    place(cast.child, pathway, easy, cast.coach)
    set_growing_fast(cast.child, TODAY)
    enrol(cast.child, cast.other_cohort, TODAY)
    assert [what for _, what in told] == ["kit", "restriction", "placement", "growth", "cohort"]


def test_what_follows_from_a_change_that_is_rolled_back_is_never_done(cast):
    with transaction.atomic():
        answer_kit(cast.child, [], cast.guardian)
        transaction.set_rollback(True)
    assert not ProcrastinateJob.objects.exists()


def test_placing_on_many_pathways_tells_once(cast, told):
    choices = {}
    for _ in range(3):
        easy = ExerciseFactory()
        choices[PathwayFactory(chain=[easy, ExerciseFactory()])] = easy
    place_all(cast.child, choices, cast.coach)
    assert told == [("Mira", "placement")]


def test_a_change_whose_consequences_cannot_be_written_is_not_made(cast):
    def fail(**_):
        raise RuntimeError("no room for what follows")

    circumstances_changed.connect(fail)
    try:
        with pytest.raises(RuntimeError), transaction.atomic():
            answer_kit(cast.child, [], cast.guardian)
    finally:
        circumstances_changed.disconnect(fail)
    assert not HomeKit.objects.exists()
