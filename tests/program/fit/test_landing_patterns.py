"""A jump is kept from a child who may not land, whatever number of ground contacts it gives."""

from itertools import product

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from athletes.changes import Rule, restrict
from library.body import LEG, Region, RestrictionKind, Side
from library.landing import LANDING_PATTERNS
from library.models import Exercise
from program.checks.session_checks import results_for_session
from program.common.library_snapshot import library_snapshot
from program.common.session_plan import plan_of
from program.engine.fit.limits import Restriction
from program.family.follow_along import follow_data
from program.models import AssignedSession, PainReport, Session
from program.publish.closing import children_who_hold_what_is_forbidden
from program.publish.publishing import publish
from tests.support.describing import describe
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    ItemFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.library_writing import NEW, sent, written_before_it_was_asked
from tests.support.sliding import has
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

NO_LANDING = RestrictionKind.NO_LANDING
KNEE = Rule(Region.KNEE, Side.BOTH, NO_LANDING, MONDAY, MONDAY)


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


def two_rounds(cohort, exercise, amount=15) -> Session:
    session = SessionFactory(block=BlockFactory(cohort=cohort))
    part = PartFactory(session=session, rounds=2)
    SlotFactory(part=part, exercise=exercise, amount=amount, tempo="")
    return Session.objects.with_plan().get(pk=session.pk)


def send_out(session, coach) -> None:
    """In spite of the stop that nobody is placed on landing yet."""
    publish(session, coach, timezone.now(), "I watch each of them land.")


def hurt_knee_that_must_not_land(cast) -> None:
    """An open report, and "knee: no landing"."""
    PainReport.objects.create(
        child=cast.child, region="knee", side="left", level=3, reported_at=timezone.now()
    )
    restrict(cast.child, KNEE, cast.coach, MONDAY)


def held_by(child, session) -> list[str]:
    slots = session.assigned.filter(child=child, slots__isnull=False)
    return list(slots.values_list("slots__revision__exercise__slug", flat=True))


def test_a_coachs_star_jump_is_asked_how_it_lands_and_reaches_no_knee_that_must_not(cast, coach):
    # Written with the form's default of 0 ground contacts it is not kept …
    jump = NEW | {"name": "Star jump", "pattern": "jump", "region_ankle": "loads", "tempo": ""}
    jump |= {"usual": 15, "high": 20}
    address = reverse("library:new_exercise")
    assert (
        "say how many, or why nothing lands" in coach.post(address, sent(**jump)).content.decode()
    )
    assert not Exercise.objects.exists()

    # … until it says how it lands.
    ItemFactory(slug="grass", kind="floor")
    grass = {"needs-0-what": "short grass", "needs-0-items": ["grass"]}
    coach.post(address, sent(**jump | grass | {"contacts": 1, "contact_class": "low"}))
    coach.post(reverse("library:publish", args=["star-jump"]))
    star_jump = Exercise.objects.get(slug="star-jump")

    # Of two homes with grass, that of the child who may not land gets none of it.
    second = ChildFactory(given_name="Second", cohort=cast.cohort)
    for child in (cast.child, second):
        has(child, "grass")
    hurt_knee_that_must_not_land(cast)
    session = two_rounds(cast.cohort, star_jump)
    send_out(session, cast.coach)
    assert held_by(cast.child, session) == []
    assert held_by(second, session) == ["star-jump"]


@pytest.fixture
def old_star_jump(db):
    """As a database may hold one from before: 0 ground contacts, and only the thigh loaded."""
    return written_before_it_was_asked(
        "star-jump",
        revision__name="Star jump",
        revision__loads=["thigh"],
        revision__tempo="",
        revision__high=20,
    )


def test_a_star_jump_from_before_is_kept_from_that_knee_by_its_pattern(cast, old_star_jump):
    second = ChildFactory(given_name="Second", cohort=cast.cohort)
    # Twenty: that it lands hard is assumed, and a third of a day’s ceiling may.
    session = two_rounds(cast.cohort, old_star_jump, 10)
    send_out(session, cast.coach)
    assert held_by(cast.child, session) == held_by(second, session) == ["star-jump"]
    hurt_knee_that_must_not_land(cast)
    assert session.assigned.get(child=cast.child).is_closed
    work_off()
    assert held_by(cast.child, session) == []
    assert held_by(second, session) == ["star-jump"]
    assert children_who_hold_what_is_forbidden(MONDAY) == set()


def test_its_landings_are_counted_and_the_checks_say_what_it_leaves_unsaid(cast, old_star_jump):
    session = two_rounds(cast.cohort, old_star_jump)
    # 2 rounds × 15 repetitions × the 1 that is usual.
    assert plan_of(session).volume.total.ground_contacts == 30
    told = {each.result.code: each.result.sentence for each in results_for_session(session)}
    assert told["landing_unsaid"] == (
        "Star jump: it does not say how many ground contacts it has, how hard they are, that the"
        " ankle carries load or that the knee carries load; until it does it counts as landing, and"
        " hard."
    )
    assert "landing_first" in told


def test_in_the_follow_along_a_sore_knee_spares_it_too(cast, old_star_jump):
    session = two_rounds(cast.cohort, old_star_jump, 10)
    send_out(session, cast.coach)
    assigned = AssignedSession.objects.with_slots().get(session=session, child=cast.child)
    (slot,) = follow_data(assigned, {})["slots"].values()
    assert {"knee", "ankle", "foot"} <= {*slot["spares"]}


def test_a_hop_that_says_no_longer_why_nothing_lands_closes_what_is_out(cast):
    """Sessions that hold it are held against the new field as against any other."""
    march = ExerciseFactory(slug="march", revision__pattern="skip", revision__loads=["ankle"])
    restrict(cast.child, KNEE, cast.coach, MONDAY)
    session = two_rounds(cast.cohort, march)
    send_out(session, cast.coach)
    assert held_by(cast.child, session) == ["march"]
    lands = {"no_landing_because": "", "contacts": 1, "contact_class": "low"}
    describe("march", **lands, loads=["ankle", "knee"], moves=[])
    assert session.assigned.get(child=cast.child).is_closed
    work_off()
    assert held_by(cast.child, session) == []


def test_no_leg_that_may_not_land_meets_a_jump_a_landing_or_a_skip_of_the_library(db):
    call_command("load_library")
    ours = [each for each in library_snapshot().fit.exercises if each.pattern in LANDING_PATTERNS]
    grounded = {each.slug for each in ours if each.no_landing_because}
    assert len(ours) - len(grounded) == 24
    for region, exercise in product(LEG, ours):
        ruled_out = Restriction(region, NO_LANDING).rules_out(exercise)
        assert ruled_out == (exercise.slug not in grounded), (exercise.slug, region)
