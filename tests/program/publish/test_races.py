"""A fact about a child, its venue or an exercise, and a publish, at the same moment: whoever is
later sees what the other wrote."""

import datetime as dt
import time
from collections.abc import Callable, Iterator
from functools import partial
from threading import Event

import pytest
from django.utils import timezone

from athletes.changes import Rule, answer_kit, enrol, equip_venue, restrict, withdraw
from library.body import Region, RestrictionKind, Side
from library.models import Exercise
from program.log.pain_reports import Reporting, report_pain
from program.models import PainReport, Session
from program.publish.closing import children_who_hold_what_is_forbidden
from program.publish.fitting import fit_and_check
from program.publish.publishing import publish
from program.recall.recalling import end_recall, recall
from tests.support.cast import named_cast
from tests.support.describing import describe
from tests.support.factories import MONDAY, ItemFactory
from tests.support.pain import ORIGIN, knee, unwell
from tests.support.sliding import has, pathway_of_slides, session_with
from tests.support.together import together
from tests.support.work import work_off

pytestmark = pytest.mark.django_db(transaction=True)

ROUNDS = 3
THIGH = Rule(Region.THIGH, Side.BOTH, RestrictionKind.NOTHING, MONDAY, MONDAY)


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture(autouse=True)
def has_read(monkeypatch) -> Event:
    """Set while publishing has read what is known of the children, and has not written yet."""
    has_read = Event()

    def slowly(session, children):
        fitted = fit_and_check(session, children)
        has_read.set()
        time.sleep(0.2)
        has_read.clear()
        return fitted

    monkeypatch.setattr("program.publish.publishing.fit_and_check", slowly)
    return has_read


@pytest.fixture
def cast():
    cast = named_cast()
    pathway_of_slides()
    has(cast.child, "smooth-floor")
    ItemFactory(slug="carpet")
    return cast


def raced(
    cast, has_read: Event, learn: Callable[[], object], place: str = "home"
) -> Iterator[Session]:
    """A first publish, what is learnt of the child in the middle of it, and then the invariant."""

    def learn_meanwhile():
        has_read.wait(5)
        learn()

    for _ in range(ROUNDS):
        session = session_with(cast.cohort, place=place)
        together(partial(publish, session, cast.coach, timezone.now()), learn_meanwhile)
        assert children_who_hold_what_is_forbidden(MONDAY) == set()
        work_off()
        assert not session.assigned.filter(closed_at__isnull=False).exists()
        yield session


def test_a_restriction_saved_while_a_session_is_first_published_reaches_it(cast, has_read):
    def spare():
        cast.child.restrictions.all().delete()
        restrict(cast.child, THIGH, cast.coach, MONDAY)

    for session in raced(cast, has_read, spare):
        assert not session.assigned.filter(child=cast.child).exists()


def test_pain_reported_while_a_session_is_first_published_reaches_it(cast, has_read):
    def hurts():
        said = Reporting(cast.guardian, timezone.now(), ORIGIN)
        report_pain(cast.child, knee(region="thigh"), said)

    for session in raced(cast, has_read, hurts):
        assert not session.assigned.filter(child=cast.child).exists()
        PainReport.objects.all().delete()


def test_a_warning_while_a_session_is_first_published_keeps_it_closed(cast, has_read):
    def faints():
        said = Reporting(cast.guardian, timezone.now(), ORIGIN)
        report_pain(cast.child, unwell("faint"), said)

    session = session_with(cast.cohort)

    def meanwhile():
        has_read.wait(5)
        faints()

    together(partial(publish, session, cast.coach, timezone.now()), meanwhile)
    work_off()
    assert not session.assigned.filter(child=cast.child, closed_at=None).exists()
    assert children_who_hold_what_is_forbidden(MONDAY) == set()


def test_carpet_said_while_a_session_is_first_published_reaches_it(cast, has_read):
    carpet = ItemFactory(slug="carpet")

    for session in raced(cast, has_read, lambda: answer_kit(cast.child, [carpet], cast.guardian)):
        slots = session.assigned.filter(child=cast.child)
        assert slots.get().slots.get().revision.exercise.slug == "heel-walk-out"
        has(cast.child, "smooth-floor")
        Session.objects.update(published_at=None)
        session.assigned.all().delete()


def test_a_child_that_leaves_while_a_session_is_first_published_does_not_get_it(cast, has_read):
    sunday = MONDAY - dt.timedelta(days=1)

    def leave():
        withdraw(cast.child, [cast.cohort], sunday)

    for session in raced(cast, has_read, leave):
        assert not session.assigned.filter(child=cast.child).exists()
        cast.child.enrolments.update(end=None)


def test_a_child_that_joins_while_a_session_is_first_published_gets_it(cast, has_read):
    def join():
        enrol(cast.other_child, cast.cohort, MONDAY)

    for session in raced(cast, has_read, join):
        assert session.assigned.filter(child=cast.other_child).exists()
        cast.other_child.enrolments.filter(cohort=cast.cohort).delete()


def test_an_exercise_taken_back_while_a_session_goes_out_is_in_none(cast, has_read):
    """Nothing about any child has changed, so that only the recall itself can wait."""
    standing = []

    def take_back():
        slide = Exercise.objects.get(slug="heel-slide")
        why = "two children slipped"
        standing.append(recall(slide, why, cast.coach, timezone.now(), MONDAY))

    for session in raced(cast, has_read, take_back):
        slots = session.assigned.values_list("slots__revision__exercise__slug", flat=True)
        assert list(slots) == ["heel-walk-out"]
        end_recall(standing.pop(), cast.coach, timezone.now(), MONDAY)
        work_off()


def test_an_exercise_described_otherwise_while_it_is_first_published_reaches_it(cast, has_read):
    def too_old_for_it():
        describe("heel-slide", minimum_age=15)

    for session in raced(cast, has_read, too_old_for_it):
        slots = session.assigned.filter(child=cast.child)
        assert slots.get().slots.get().revision.exercise.slug == "heel-walk-out"
        describe("heel-slide", minimum_age=6)


def test_a_venue_said_to_be_bare_while_a_session_is_first_published_reaches_it(cast, has_read):
    tiles = ItemFactory(slug="smooth-floor")
    equip_venue(cast.cohort, [tiles])

    for session in raced(cast, has_read, lambda: equip_venue(cast.cohort, []), "venue"):
        slots = session.assigned.filter(child=cast.child)
        assert slots.get().slots.get().revision.exercise.slug == "heel-walk-out"
        equip_venue(cast.cohort, [tiles])
