import datetime as dt

import pytest
from django.utils import timezone

from athletes.changes import see_as_they_stand, start_all
from library.models import Exercise
from program.common.library_snapshot import library_snapshot
from program.engine.fit.reasons import Reason, for_coach, for_family
from program.fit.fitting import fit
from program.models import Override, Session
from program.publish.publishing import Published, publish
from tests.support.factories import MONDAY, ChildFactory, ItemFactory, SlotFactory
from tests.support.sliding import has, session_with, spare_the_thigh

pytestmark = pytest.mark.django_db


def written(cast, slug="heel-slide", place="home", **slot) -> Session:
    session = session_with(cast.cohort, slug, place, **slot)
    return Session.objects.with_plan().get(pk=session.pk)


def place(child, pathway, slug):
    child.placements.create(
        pathway=pathway, exercise=Exercise.objects.get(slug=slug), placed_at=timezone.now()
    )


def gets(session, child) -> tuple[str, str | None]:
    (fitted,) = fit(session, [child]).by_child[child.pk]
    return fitted.outcome.value, fitted.given.exercise if fitted.given else None


def test_a_child_without_a_smooth_floor_walks_the_heels_out_and_both_readers_learn_why(
    cast, slides
):
    has(cast.child, "carpet")
    session = written(cast)
    publish(session, cast.coach, timezone.now())
    slot = session.assigned.get(child=cast.child).slots.get()
    assert (slot.outcome, slot.revision.exercise.slug) == ("easier", "heel-walk-out")
    reason = Reason.from_json(slot.reasons[0])
    assert for_coach(reason) == "no smooth floor for sliding: heel walk out instead"
    assert for_family(reason) == (
        "There is no smooth floor for sliding, so it is heel walk out this time."
    )


def test_at_the_venue_the_venues_kit_counts_and_not_the_familys(cast, slides):
    has(cast.child, "carpet")
    cast.cohort.venue_items.set([ItemFactory(slug="smooth-floor")])
    assert gets(written(cast, place="venue"), cast.child) == ("as_written", "heel-slide")


def test_a_restriction_counts_on_the_sessions_day_and_not_the_day_after(cast, slides):
    has(cast.child, "smooth-floor")
    cast.child.restrictions.create(
        region="thigh", kind="no_loading", start=MONDAY - dt.timedelta(days=7), until=MONDAY
    )
    on_the_last_day, session_after = written(cast), written(cast)
    Session.objects.filter(pk=session_after.pk).update(date=MONDAY + dt.timedelta(days=1))
    after = Session.objects.with_plan().get(pk=session_after.pk)
    assert gets(on_the_last_day, cast.child) == ("coach_decides", None)
    assert gets(after, cast.child) == ("as_written", "heel-slide")


def test_a_child_who_is_further_on_gets_more_only_where_the_coach_lets_the_slot_meet_it(
    cast, slides
):
    has(cast.child, "smooth-floor")
    place(cast.child, slides, "one-leg-slide")
    assert gets(written(cast, rule="easier_where_needed"), cast.child)[1] == "heel-slide"
    assert gets(written(cast, rule="meet_placement"), cast.child)[1] == "one-leg-slide"


def test_where_a_group_was_started_nobody_gets_more_until_a_coach_has_seen_it(cast, slides):
    has(cast.child, "smooth-floor")
    start_all({cast.child: {slides: Exercise.objects.get(slug="one-leg-slide")}}, cast.coach)
    session = written(cast, rule="meet_placement")
    assert gets(session, cast.child) == ("as_written", "heel-slide")
    see_as_they_stand(list(cast.child.placements.all()), cast.coach)
    assert gets(session, cast.child) == ("harder", "one-leg-slide")


def test_in_a_growth_spurt_nothing_gets_harder_until_the_day_after_it_ends(cast, slides):
    has(cast.child, "smooth-floor")
    place(cast.child, slides, "one-leg-slide")
    session = written(cast, rule="meet_placement")
    cast.child.growing_fast_until = MONDAY
    assert gets(session, cast.child)[1] == "heel-slide"
    cast.child.growing_fast_until = MONDAY - dt.timedelta(days=1)
    assert gets(session, cast.child)[1] == "one-leg-slide"


def test_where_nothing_is_allowed_only_that_child_waits_for_the_coach(cast, slides):
    spared = ChildFactory(cohort=cast.cohort)
    spare_the_thigh(spared)
    has(cast.child, "smooth-floor")
    session = written(cast)
    assert publish(session, cast.coach, timezone.now()) == Published(new=1, held=1)
    assert [assigned.child for assigned in session.assigned.all()] == [cast.child]


def test_a_new_restriction_takes_back_what_is_not_started_and_no_longer_allowed(cast, slides):
    has(cast.child, "smooth-floor")
    session = written(cast)
    publish(session, cast.coach, timezone.now())
    spare_the_thigh(cast.child)
    assert publish(session, cast.coach, timezone.now()) == Published(held=1, removed=1)
    assert not session.assigned.exists()


def test_the_coachs_choice_for_one_child_survives_publishing_again(cast, slides):
    other = ChildFactory(cohort=cast.cohort)
    for child in (cast.child, other):
        has(child, "smooth-floor")
    session = written(cast)
    slot = session.parts.get().slots.get()
    Override.objects.create(
        slot=slot,
        child=cast.child,
        exercise=Exercise.objects.get(slug="heel-walk-out"),
        note="Just this week.",
    )
    for _ in range(2):
        publish(session, cast.coach, timezone.now())
        assigned = session.assigned.get(child=cast.child).slots.get()
        assert (assigned.outcome, assigned.note) == ("coach_choice", "Just this week.")
    assert session.assigned.get(child=other).slots.get().outcome == "as_written"


def test_a_slot_left_out_for_one_child_is_not_in_that_childs_session(cast, slides):
    has(cast.child, "smooth-floor")
    session = written(cast)
    part = session.parts.get()
    SlotFactory(part=part, position=1, exercise=Exercise.objects.get(slug="heel-walk-out"))
    Override.objects.create(slot=part.slots.get(position=0), child=cast.child, exercise=None)
    publish(session, cast.coach, timezone.now())
    (slot,) = session.assigned.get(child=cast.child).slots.all()
    assert slot.revision.exercise.slug == "heel-walk-out"


def test_the_easier_option_goes_along_with_its_own_dose(cast, slides):
    has(cast.child, "smooth-floor")
    session = written(cast)
    publish(session, cast.coach, timezone.now())
    slot = session.assigned.get().slots.get()
    assert slot.easier_revision.exercise.slug == "heel-walk-out"
    assert slot.easier_amount == 8


def test_an_exercise_retired_in_the_library_is_no_longer_chosen_by_any_process(cast, slides):
    has(cast.child, "carpet")
    session = written(cast)
    assert gets(session, cast.child) == ("easier", "heel-walk-out")
    Exercise.objects.filter(slug="heel-walk-out").update(status="retired")
    assert gets(session, cast.child) == ("coach_decides", None)


def test_the_library_is_read_once_per_edition(cast, slides, django_assert_num_queries):
    library_snapshot()
    with django_assert_num_queries(1):
        library_snapshot()


def test_fitting_takes_as_many_queries_for_thirty_children_as_for_one(
    cast, slides, django_assert_num_queries
):
    session = written(cast)
    library_snapshot()
    # the edition, all that is known of the children, overrides, what else they hold that day
    with django_assert_num_queries(4):
        fit(session, [cast.child])
    children = [ChildFactory(cohort=cast.cohort) for _ in range(30)]
    for child in children[:10]:
        has(child, "carpet")
    library_snapshot()
    with django_assert_num_queries(4):
        fit(session, children)
