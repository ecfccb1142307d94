"""From the moment something is known of a child it holds nothing that this forbids."""

import datetime as dt

import pytest
from django.db import transaction
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.changes import Rule, answer_kit, lift, place, restrict, withdraw
from athletes.models import HomeKit
from library.body import Region, RestrictionKind, Side
from library.models import Exercise
from program.common.addresses import address
from program.log.logbook import mark_started
from program.models import AssignedSession, Refit
from program.operations.backup.signals import database_restored
from program.publish.closing import children_who_hold_what_is_forbidden, sweep
from program.publish.publishing import publish
from tests.support.factories import (
    MONDAY,
    ChildFactory,
    ExerciseFactory,
    ItemFactory,
    PathwayFactory,
)
from tests.support.sliding import has, session_with, spare_the_thigh
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

THIGH = Rule(Region.THIGH, Side.BOTH, RestrictionKind.NOTHING, MONDAY, MONDAY)


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


def of(child, session) -> AssignedSession:
    return session.assigned.get(child=child)


def exercises_of(child, session) -> list[str]:
    slots = session.assigned.filter(child=child)
    return list(slots.values_list("slots__revision__exercise__slug", flat=True))


def forbidden() -> set[int]:
    return children_who_hold_what_is_forbidden(MONDAY)


def test_what_a_new_restriction_forbids_is_closed_before_any_worker_comes(cast, published):
    restrict(cast.child, THIGH, cast.coach, MONDAY)
    assert of(cast.child, published).is_closed
    assert not of(cast.second, published).is_closed
    assert forbidden() == set()


def test_a_floor_that_turns_out_to_be_carpet_closes_what_slides_on_it(cast, published):
    answer_kit(cast.child, [ItemFactory(slug="carpet")], cast.guardian)
    assert of(cast.child, published).is_closed
    work_off()
    assert not of(cast.child, published).is_closed
    assert exercises_of(cast.child, published) == ["heel-walk-out"]


def test_a_child_that_leaves_does_not_keep_what_comes_after_its_last_day(cast, published):
    withdraw(cast.child, [cast.cohort], MONDAY - dt.timedelta(days=1))
    assert of(cast.child, published).is_closed
    work_off()
    assert not published.assigned.filter(child=cast.child).exists()


def test_a_change_that_forbids_nothing_closes_nothing(cast, published, slides):
    place(cast.child, slides, Exercise.objects.get(slug="heel-walk-out"), cast.coach)
    assert not of(cast.child, published).is_closed


def test_an_easier_option_that_the_child_may_not_do_closes_it_too(cast):
    """The exercise itself does not load the ankle; the one offered in its place does."""
    moved = {"revision__moves": []}
    easier = ExerciseFactory(slug="ankle-work", revision__loads=["ankle"], **moved)
    harder = ExerciseFactory(slug="no-ankle-work", revision__loads=["thigh"], **moved)
    PathwayFactory(chain=[easier, harder])
    session = session_with(cast.cohort, "no-ankle-work")
    publish(session, cast.coach, timezone.now())
    assert of(cast.child, session).slots.get().easier_revision.exercise == easier
    ankle = Rule(Region.ANKLE, Side.LEFT, RestrictionKind.NO_LOADING, MONDAY, MONDAY)
    restrict(cast.child, ankle, cast.coach, MONDAY)
    assert of(cast.child, session).is_closed
    work_off()
    slot = of(cast.child, session).slots.get()
    assert (slot.revision.exercise.slug, slot.easier_revision) == ("no-ankle-work", None)


def test_what_a_child_has_started_is_not_closed(cast, published):
    published.assigned.filter(child=cast.child).update(started_at=timezone.now())
    restrict(cast.child, THIGH, cast.coach, MONDAY)
    assert not of(cast.child, published).is_closed


def test_a_restriction_that_is_lifted_before_the_worker_comes_opens_it_as_it_was(cast, published):
    before = of(cast.child, published)
    restriction = restrict(cast.child, THIGH, cast.coach, MONDAY).restriction
    lift(restriction, cast.coach, MONDAY)
    work_off()
    after = of(cast.child, published)
    assert (after.pk, after.is_closed) == (before.pk, False)
    assert not Refit.objects.exists()


def test_the_change_and_what_follows_are_written_together_or_not_at_all(cast, published):
    with transaction.atomic():
        restrict(cast.child, THIGH, cast.coach, MONDAY)
        transaction.set_rollback(True)
    assert not of(cast.child, published).is_closed
    assert not ProcrastinateJob.objects.exists()


def test_a_family_reads_that_it_is_chosen_anew_and_cannot_begin_it(cast, published, client_for):
    restrict(cast.child, THIGH, cast.coach, MONDAY)
    mother, mine = client_for(cast.guardian), of(cast.child, published)
    day = mother.get(address(mine, cast.child)).content.decode()
    assert "This session is being chosen anew." in day
    for page in ("read", "follow", "sheet"):
        answer = mother.get(address(mine, cast.child, page))
        assert answer.url == address(mine, cast.child)
    assert mother.get(address(mine, cast.child, "log")).status_code == 200


def test_a_coach_sees_it_in_the_hall_and_prints_no_sheet_of_it(cast, published, coach):
    restrict(cast.child, THIGH, cast.coach, MONDAY)
    log = coach.get(f"/sessions/{published.pk}/group/").content.decode()
    assert log.count("Being chosen anew.") == 1
    sheets = coach.get(f"/sessions/{published.pk}/sheets/").content.decode()
    assert cast.second.given_name in sheets
    assert cast.child.given_name not in sheets


def test_a_page_that_was_open_before_does_not_keep_it_from_being_chosen_anew(cast, published):
    mine = of(cast.child, published)
    restrict(cast.child, THIGH, cast.coach, MONDAY)
    mark_started([mine], timezone.now())
    assert of(cast.child, published).is_closed
    work_off()
    assert not published.assigned.filter(child=cast.child).exists()


# The sweep


def test_the_sweep_finds_nothing_where_all_is_as_it_should_be(cast, published):
    assert sweep(timezone.now(), MONDAY) == 0


def test_the_sweep_closes_what_came_about_behind_everybodys_back_and_tells_the_coach(
    cast, published
):
    spare_the_thigh(cast.child)  # a row, as a restore or a repair by hand would write it
    assert forbidden() == {cast.child.pk}
    assert sweep(timezone.now(), MONDAY) == 1
    assert of(cast.child, published).is_closed
    work_off()
    assert not published.assigned.filter(child=cast.child).exists()
    told = Refit.objects.get()
    assert (told.what, told.waiting, told.withdrawn) == ("limit", 1, 1)
    assert sweep(timezone.now(), MONDAY) == 0


def test_after_a_restore_everybody_is_looked_at(cast, published):
    spare_the_thigh(cast.child)
    database_restored.send(sender=None, path=None)
    assert of(cast.child, published).is_closed


def test_a_session_that_was_left_closed_is_taken_up_again(cast, published):
    restrict(cast.child, THIGH, cast.coach, MONDAY)
    ProcrastinateJob.objects.all().delete()
    assert sweep(timezone.now(), MONDAY) == 1
    work_off()
    assert not AssignedSession.objects.filter(closed_at__isnull=False).exists()


def test_a_retired_exercise_stays_until_a_coach_takes_it_back(cast, published):
    Exercise.objects.filter(slug="heel-slide").update(status="retired")
    assert forbidden() == set()


def test_the_sweep_asks_as_often_for_many_children_as_for_few(
    cast, published, django_assert_max_num_queries
):
    few = 9
    with django_assert_max_num_queries(few):
        assert forbidden() == set()
    for _ in range(6):
        has(ChildFactory(cohort=cast.cohort), "smooth-floor")
    another = session_with(cast.cohort)
    for session in (published, another):
        publish(session, cast.coach, timezone.now())
    HomeKit.objects.filter(child=cast.second).delete()
    with django_assert_max_num_queries(few):
        assert forbidden() == {cast.second.pk}
