"""What changes at the venue or in the library reaches what children hold, when it is saved."""

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.changes import equip_venue
from athletes.models import Child, Cohort
from library.models import Exercise, Pathway
from library.pathway_changes import remove
from library.revisions import NeedContent
from program.models import AssignedSession, Refit, Session
from program.publish.closing import children_who_hold_what_is_forbidden
from program.publish.publishing import publish
from tests.support.describing import describe
from tests.support.factories import (
    MONDAY,
    ChildFactory,
    ExerciseFactory,
    ItemFactory,
    PathwayFactory,
)
from tests.support.library_files import exercise as row_of
from tests.support.library_files import sound_folder, squat
from tests.support.sliding import has, session_with
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

RULER = NeedContent("a skirting board", frozenset({"skirting-board"}))


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def at_the_venue(cast, slides) -> Session:
    """A published heel slide in a hall with a smooth floor; no home has one."""
    tiles = ItemFactory(slug="smooth-floor")
    equip_venue(cast.cohort, [tiles])
    session = session_with(cast.cohort, place="venue")
    publish(session, cast.coach, timezone.now())
    return session


def of(child, session) -> AssignedSession:
    return session.assigned.get(child=child)


def held_by(child, session) -> list[str]:
    slots = session.assigned.filter(child=child)
    return list(slots.values_list("slots__revision__exercise__slug", flat=True))


def forbidden() -> set[int]:
    return children_who_hold_what_is_forbidden(MONDAY)


def told() -> list[tuple[str, int]]:
    return [(each.what, each.child_id) for each in Refit.objects.all()]


# The venue


def test_what_the_venue_has_no_longer_closes_what_needs_it_until_it_is_chosen_anew(
    cast, at_the_venue
):
    equip_venue(cast.cohort, [])
    assert of(cast.child, at_the_venue).is_closed
    work_off()
    assert not of(cast.child, at_the_venue).is_closed
    assert held_by(cast.child, at_the_venue) == ["heel-walk-out"]
    assert told() == [("venue", cast.child.pk)]


def test_what_the_venue_has_now_is_used_without_closing_anything(cast, at_the_venue):
    equip_venue(cast.cohort, [])
    work_off()
    equip_venue(cast.cohort, [ItemFactory(slug="smooth-floor")])
    assert not of(cast.child, at_the_venue).is_closed
    work_off()
    assert held_by(cast.child, at_the_venue) == ["heel-slide"]


def test_a_session_at_home_does_not_mind_what_the_venue_has(cast, published):
    equip_venue(cast.cohort, [ItemFactory(slug="rope")])
    assert not of(cast.child, published).is_closed
    work_off()
    assert told() == []


def test_saying_again_what_the_venue_has_changes_nothing(cast, at_the_venue):
    ProcrastinateJob.objects.all().delete()
    equip_venue(cast.cohort, [ItemFactory(slug="smooth-floor")])
    assert not ProcrastinateJob.objects.exists()


def test_the_cohorts_form_says_it_to_everybody_in_the_cohort(cast, at_the_venue, client_for):
    form = {"name": "Own cohort", "youngest": 9, "oldest": 12, "coaches": [cast.coach.pk]}
    address = f"/people/cohorts/{cast.cohort.pk}/"
    assert client_for(cast.head_coach).post(address, form).status_code == 302
    assert of(cast.child, at_the_venue).is_closed
    assert not Cohort.objects.get(pk=cast.cohort.pk).venue_items.exists()


def test_the_coach_whose_cohort_it_is_reads_what_became_of_it(cast, at_the_venue, coach):
    equip_venue(cast.cohort, [])
    work_off()
    queue = coach.get("/review/").content.decode()
    assert "What the venue has is different" in queue
    assert "Sessions not yet started: 1 different now." in queue


def test_the_venue_and_what_follows_are_written_together_or_not_at_all(cast, at_the_venue):
    ProcrastinateJob.objects.all().delete()
    with transaction.atomic():
        equip_venue(cast.cohort, [])
        transaction.set_rollback(True)
    assert not of(cast.child, at_the_venue).is_closed
    assert not ProcrastinateJob.objects.exists()


# An exercise


@pytest.mark.parametrize(
    "said",
    [
        {"needs": (RULER,)},
        {"minimum_age": 15},
        {"moves": ["elbow"]},
        {"contacts": 9, "contact_class": "high"},
    ],
    ids=lambda said: next(iter(said)),
)
def test_an_exercise_described_otherwise_closes_what_it_makes_forbidden(cast, published, said):
    ItemFactory(slug="skirting-board")
    cast.child.restrictions.create(region="elbow", kind="nothing", start=MONDAY, until=MONDAY)
    cast.second.restrictions.create(region="elbow", kind="nothing", start=MONDAY, until=MONDAY)
    Child.objects.update(growing_fast_until=MONDAY)  # 40 contacts at most, and 8 times 9 are 72
    describe("heel-slide", **said)
    assert of(cast.child, published).is_closed
    assert forbidden() == set()
    work_off()
    assert "heel-slide" not in held_by(cast.child, published)
    assert set(told()) == {("exercise", cast.child.pk), ("exercise", cast.second.pk)}


def test_only_whom_it_forbids_something_is_chosen_for_anew(cast, published):
    cast.child.restrictions.create(region="elbow", kind="nothing", start=MONDAY, until=MONDAY)
    before = of(cast.second, published).pk
    describe("heel-slide", moves=["elbow"])
    work_off()
    assert of(cast.second, published).pk == before
    assert told() == [("exercise", cast.child.pk)]


def test_an_easier_option_described_otherwise_closes_it_too(cast, published):
    describe("heel-walk-out", minimum_age=15)
    assert of(cast.child, published).is_closed
    work_off()
    slot = of(cast.child, published).slots.get()
    assert (slot.revision.exercise.slug, slot.easier_revision) == ("heel-slide", None)


def test_other_words_for_an_exercise_leave_what_is_out_as_it_is(cast, published):
    describe("heel-slide", plain="Lie down and slide.")
    assert not of(cast.child, published).is_closed
    assert not ProcrastinateJob.objects.exists()


def test_what_has_been_started_stays(cast, published):
    published.assigned.filter(child=cast.child).update(started_at=timezone.now())
    describe("heel-slide", minimum_age=15)
    assert not of(cast.child, published).is_closed
    assert held_by(cast.child, published) == ["heel-slide"]


def test_publishing_or_retiring_an_exercise_closes_nothing(cast, published, coach):
    """A retired one stays with who has it until a coach takes it back."""
    for act in ("retire", "publish"):
        coach.post(f"/library/exercises/heel-slide/{act}/")
        assert not of(cast.child, published).is_closed
    assert told() == []


def test_files_of_the_library_that_say_otherwise_close_what_they_make_forbidden(cast, tmp_path):
    folder = sound_folder(tmp_path)
    call_command("load_library", folder)
    session = session_with(cast.cohort, "low-seat")
    publish(session, cast.coach, timezone.now())
    assert not of(cast.child, session).is_closed
    squat(folder, row_of("high-seat"), row_of("low-seat", min_age=15))
    call_command("load_library", folder)
    assert of(cast.child, session).is_closed
    work_off()
    assert held_by(cast.child, session) == ["high-seat"]


# A pathway


def test_an_easier_option_that_is_no_longer_easier_is_chosen_anew(cast, published, slides):
    assert of(cast.child, published).slots.get().easier_revision.exercise.slug == "heel-walk-out"
    remove(slides.steps.get(easier__slug="heel-walk-out"))
    work_off()
    assert of(cast.child, published).slots.get().easier_revision is None
    assert set(told()) == {("pathway", cast.child.pk), ("pathway", cast.second.pk)}


def test_a_step_put_in_by_the_form_reaches_who_holds_its_ends(cast, published, slides, coach):
    lower = ExerciseFactory(slug="lying-still", revision__loads=["thigh"])
    walk = Exercise.objects.get(slug="heel-walk-out")
    remove(slides.steps.get(easier=walk))
    work_off()
    form = {
        "easier": lower.pk,
        "harder": Exercise.objects.get(slug="heel-slide").pk,
        "change": "Slides.",
        "ready": "Eight calm ones.",
    }
    assert coach.post(f"/library/pathways/{slides.slug}/steps/", form).status_code == 302
    work_off()
    assert of(cast.child, published).slots.get().easier_revision.exercise == lower


def test_a_pathway_that_nobody_holds_anything_of_asks_nothing_of_the_worker(cast, published):
    other = PathwayFactory(chain=[ExerciseFactory(), ExerciseFactory()])
    remove(other.steps.get())
    assert not ProcrastinateJob.objects.exists()
    assert Pathway.objects.filter(pk=other.pk).exists()


# Many at once


def test_closing_asks_as_often_for_many_children_as_for_few(cast, published):
    def asked(age: int) -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            describe("heel-slide", minimum_age=age)
        return len(queries)

    few = asked(15)
    assert AssignedSession.objects.exclude(closed_at=None).count() == 2
    describe("heel-slide", minimum_age=4)
    for _ in range(8):
        has(ChildFactory(cohort=cast.cohort), "smooth-floor")
    work_off()
    publish(published, cast.coach, timezone.now())
    assert asked(16) == few
    assert AssignedSession.objects.exclude(closed_at=None).count() == 10
    assert ProcrastinateJob.objects.filter(status="todo").values("lock").distinct().count() == 10


def test_a_venue_asks_as_often_for_many_children_as_for_few(cast, at_the_venue):
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            equip_venue(cast.cohort, [])
        return len(queries)

    few = asked()
    equip_venue(cast.cohort, [ItemFactory(slug="smooth-floor")])
    for _ in range(8):
        ChildFactory(cohort=cast.cohort)
    work_off()
    publish(at_the_venue, cast.coach, timezone.now())
    assert asked() == few
    assert AssignedSession.objects.exclude(closed_at=None).count() == 9
