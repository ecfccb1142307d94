"""What a child reports reaches every session it has or will get, until a coach has answered."""

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.changes import Rule, answer_kit, enrol, restrict
from athletes.models import Cohort
from library.body import Region, RestrictionKind, Side
from library.models import Exercise
from program.common.addresses import address
from program.log.logbook import mark_started
from program.log.pain_reports import take_back
from program.models import AssignedSession, PainReport, Refit, SafetyRules
from program.publish.closing import children_who_hold_what_is_forbidden, sweep
from program.publish.publishing import publish
from tests.support.factories import MONDAY, CohortFactory, ExerciseFactory, PathwayFactory
from tests.support.family import EVENING, assign
from tests.support.pain import knee, report, unwell
from tests.support.sliding import session_with
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def squats(db):
    """Two exercises of one pathway that load the knee and one that does not, easiest first."""
    moved = {"revision__moves": []}
    return PathwayFactory(
        slug="squats",
        chain=[
            ExerciseFactory(slug="bridge", revision__loads=["thigh"], **moved),
            ExerciseFactory(slug="squat", revision__loads=["knee"], **moved),
            ExerciseFactory(slug="lunge", revision__loads=["knee"], **moved),
        ],
    )


@pytest.fixture
def published(cast, squats):
    return sent(cast.cohort, cast.coach)


def sent(cohort, by, slug="squat", **where):
    session = session_with(cohort, slug, **where)
    publish(session, by, timezone.now())
    return session


def of(child, session) -> AssignedSession:
    return session.assigned.get(child=child)


def exercises_of(child, session) -> list[str]:
    slots = session.assigned.filter(child=child)
    return list(slots.values_list("slots__revision__exercise__slug", flat=True))


def hurts(cast, pain, **told) -> PainReport:
    """Said of a session of its own, so that none of the others has begun."""
    elsewhere = assign(cast.child, MONDAY, name="Elsewhere")
    return report(elsewhere, pain, cast.guardian, timezone.now(), **told)


def test_an_unanswered_knee_closes_what_loads_it_and_the_worker_chooses_what_does_not(
    cast, published
):
    hurts(cast, knee(level=8))
    assert of(cast.child, published).is_closed
    assert children_who_hold_what_is_forbidden(MONDAY) == set()
    work_off()
    assert not of(cast.child, published).is_closed
    assert exercises_of(cast.child, published) == ["bridge"]


def test_it_counts_in_every_cohort_of_the_child_and_at_the_venue_too(cast, squats):
    second: Cohort = CohortFactory()
    enrol(cast.child, second, MONDAY)
    sessions = [
        sent(cast.cohort, cast.coach),
        sent(second, cast.coach),
        sent(cast.cohort, cast.coach, place="venue"),
    ]
    mine = of(cast.child, sessions[0])
    report(mine, knee(), cast.guardian, timezone.now(), is_begun=False)
    work_off()
    assert [exercises_of(cast.child, each) for each in sessions] == [["bridge"]] * 3


def test_what_is_published_afterwards_spares_it_too(cast, squats):
    hurts(cast, knee())
    assert exercises_of(cast.child, sent(cast.cohort, cast.coach, "lunge")) == ["bridge"]


def test_the_exercise_during_which_it_hurt_is_spared_by_name(cast, published):
    """A sore elbow in a squat: no squat loads an elbow, and still not that one."""
    slot = of(cast.child, published).slots.get()
    hurts(cast, knee(region="elbow", slot=slot))
    work_off()
    assert exercises_of(cast.child, published) == ["bridge"]


def test_another_child_keeps_what_it_has(cast, published):
    hurts(cast, knee())
    assert not published.assigned.exclude(child=cast.child).filter(closed_at__isnull=False).exists()


def test_once_a_coach_has_answered_it_is_as_it_was(cast, published):
    told = hurts(cast, knee())
    work_off()
    take_back(told, cast.coach, timezone.now(), "Meant another child.")
    work_off()
    assert exercises_of(cast.child, published) == ["squat"]


def test_what_a_child_is_doing_stays_the_childs(cast, published):
    mark_started([of(cast.child, published)], timezone.now())
    report(of(cast.child, published), knee(), cast.guardian, timezone.now())
    work_off()
    assert exercises_of(cast.child, published) == ["squat"]


def test_less_than_the_program_spares_from_changes_nothing(cast, published):
    SafetyRules.objects.change(cast.head_coach, timezone.now(), spares_from=4)
    hurts(cast, knee(level=3))
    work_off()
    assert exercises_of(cast.child, published) == ["squat"]


@pytest.mark.parametrize(
    "pain", [unwell("chest"), unwell("dizzy"), unwell("head_knock"), knee(level=1, signs=("limp",))]
)
def test_a_warning_holds_every_session_back_until_a_coach_has_answered(cast, published, pain):
    told = hurts(cast, pain)
    work_off()
    assert of(cast.child, published).is_closed
    later = sent(cast.cohort, cast.coach)
    assert not later.assigned.filter(child=cast.child).exists()
    assert sweep(timezone.now(), MONDAY) == 0
    take_back(told, cast.coach, timezone.now(), "Well again, says the doctor.")
    work_off()
    assert not of(cast.child, published).is_closed
    assert exercises_of(cast.child, published) == ["squat"]
    assert exercises_of(cast.child, later) == ["squat"]


def test_a_family_reads_that_it_waits_and_whom_to_see_first(cast, published, client_for):
    hurts(cast, unwell("chest"))
    page = client_for(cast.guardian).get(address(of(cast.child, published), cast.child))
    read = page.content.decode()
    assert "This session waits." in read
    assert "every session waits until your coach has answered" in read
    assert "Ring a doctor before anything else." in read
    for way in ("follow", "read"):
        there = client_for(cast.guardian).get(address(of(cast.child, published), cast.child, way))
        assert there.status_code == 302


def test_a_family_reads_on_every_day_what_is_spared(cast, published, client_for):
    hurts(cast, knee())
    work_off()
    read = client_for(cast.guardian).get(address(of(cast.child, published), cast.child))
    assert "Left knee: spared until your coach has answered." in read.content.decode()


def test_resting_holds_every_session_back_while_it_lasts(cast, published):
    rest = Rule(None, Side.BOTH, RestrictionKind.NOTHING, MONDAY, MONDAY)
    restrict(cast.child, rest, cast.coach, MONDAY)
    work_off()
    assert of(cast.child, published).is_closed
    assert sweep(timezone.now(), MONDAY) == 0
    assert str(cast.child.restrictions.get().rule) == "Whole body: nothing at all"


def test_saying_the_same_restriction_again_chooses_anew(cast, published):
    rule = Rule(None, Side.BOTH, RestrictionKind.NOTHING, MONDAY, MONDAY)
    restrict(cast.child, rule, cast.coach, MONDAY)
    work_off()
    AssignedSession.objects.update(closed_at=None)
    restrict(cast.child, rule, cast.coach, MONDAY)
    assert of(cast.child, published).is_closed


def test_nothing_gets_harder_in_a_place_that_is_only_kept_from_landing(cast, squats):
    """No landings leaves the squats in; the harder one is not given however far the child is."""
    cast.child.placements.create(
        pathway=squats,
        exercise=Exercise.objects.get(slug="lunge"),
        placed_at=EVENING,
        placed_by=cast.coach,
    )
    session = session_with(cast.cohort, "squat", rule="meet_placement")
    publish(session, cast.coach, timezone.now())
    assert exercises_of(cast.child, session) == ["lunge"]
    no_landing = Rule(Region.KNEE, Side.LEFT, RestrictionKind.NO_LANDING, MONDAY, MONDAY)
    restrict(cast.child, no_landing, cast.coach, MONDAY)
    work_off()
    assert exercises_of(cast.child, session) == ["squat"]
    assert of(cast.child, session).slots.get().reasons[0]["code"] == "place_is_spared"


def test_the_coach_is_not_asked_twice_about_what_a_report_changed(cast, published):
    hurts(cast, knee())
    work_off()
    assert Refit.objects.get().what == "pain"


def test_a_report_keeps_its_session_where_that_is_chosen_anew(cast, published):
    mine = of(cast.child, published)
    report(mine, knee(), cast.guardian, timezone.now(), is_begun=False)
    work_off()
    assert exercises_of(cast.child, published) == ["bridge"]
    assert PainReport.objects.get().assigned_session == of(cast.child, published)


def test_a_kit_answered_anew_still_spares(cast, published):
    hurts(cast, knee())
    answer_kit(cast.child, [], cast.guardian)
    work_off()
    assert exercises_of(cast.child, published) == ["bridge"]


def test_a_coach_reads_what_is_spared_in_the_builder_and_in_who_gets_what(
    cast, published, client_for
):
    elsewhere = of(cast.child, published)
    for _ in range(2):
        report(elsewhere, knee(), cast.guardian, timezone.now(), is_begun=False)
    coach = client_for(cast.coach)
    told = "Left knee: spared until you have answered."
    for page in ("fit_counts", "who_gets_what"):
        read = coach.get(reverse(f"program:{page}", args=[published.pk])).content.decode()
        assert read.count(told) == 1  # twice reported, once said
    builder = coach.get(reverse("program:build", args=[published.pk])).content.decode()
    assert 'id="fit-spared"' in builder  # where htmx puts it
