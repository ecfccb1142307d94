"""A coach whose cohort a child has left: reads for a while what the cohort did, and writes nothing.

Mira has moved from the coach's cohort to the other coach's, with yesterday as her last day.
"""

import datetime as dt

import pytest
from django.utils import timezone

from athletes.models import AccessRules, Child, Enrolment
from program.models import AssignedSession, Completion, PainReport, Report
from tests.support.cast import named_cast
from tests.support.factories import AssignedSessionFactory, BlockFactory, SessionFactory
from tests.support.pain import knee, report

pytestmark = pytest.mark.django_db


@pytest.fixture
def moved():
    cast = named_cast()
    leave(cast.child, yesterday())
    cast.child.enrolments.create(cohort=cast.other_cohort, start=timezone.localdate())
    return cast


def yesterday():
    return timezone.localdate() - dt.timedelta(days=1)


def leave(child, last_day):
    child.enrolments.filter(end__isnull=True).update(
        start=last_day - dt.timedelta(weeks=8), end=last_day
    )


def session_of(child, cohort, day):
    """A session of a cohort that the child has."""
    session = SessionFactory(block=BlockFactory(cohort=cohort), date=day)
    return AssignedSessionFactory(session=session, child=child, date=day)


def test_the_child_is_the_new_coachs_and_no_longer_the_old_ones(moved):
    assert moved.child not in Child.objects.visible_to(moved.coach)
    assert moved.child in Child.objects.visible_to(moved.other_coach)
    assert moved.child in Child.objects.remembered_by(moved.coach)


def test_on_the_last_day_and_before_the_first_one_the_child_is_the_coachs(moved):
    today = timezone.localdate()
    moved.child.enrolments.filter(cohort=moved.cohort).update(end=today)
    moved.child.enrolments.filter(cohort=moved.other_cohort).update(
        start=today + dt.timedelta(days=5)
    )
    assert moved.child in Child.objects.visible_to(moved.coach)
    assert moved.child in Child.objects.visible_to(moved.other_coach)


def test_what_the_own_cohort_did_is_remembered_and_nothing_else(moved):
    own = session_of(moved.child, moved.cohort, yesterday())
    new = session_of(moved.child, moved.other_cohort, timezone.localdate())
    assert set(AssignedSession.objects.remembered_by(moved.coach)) == {own}
    assert set(AssignedSession.objects.remembered_by(moved.other_coach)) == {own, new}
    assert not AssignedSession.objects.visible_to(moved.coach).exists()
    assert not Completion.objects.visible_to(moved.coach).exists()


@pytest.mark.parametrize(("days_ago", "is_logged"), [(1, True), (7, True), (8, False)])
def test_the_last_session_in_the_hall_is_logged_for_a_week_after(moved, days_ago, is_logged):
    last_day = timezone.localdate() - dt.timedelta(days=days_ago)
    moved.child.enrolments.filter(end__isnull=False).update(end=last_day)
    own = session_of(moved.child, moved.cohort, last_day)
    session_of(moved.child, moved.other_cohort, timezone.localdate())
    found = AssignedSession.objects.logged_with_group_by(moved.coach)
    assert list(found) == ([own] if is_logged else [])


def test_what_hurts_since_is_not_for_the_old_coach(moved):
    new = session_of(moved.child, moved.other_cohort, timezone.localdate())
    report(new, knee(level=4), moved.guardian, timezone.now())
    assert not PainReport.objects.visible_to(moved.coach).exists()
    assert PainReport.objects.visible_to(moved.other_coach).count() == 1


@pytest.mark.parametrize(("days_ago", "is_remembered"), [(89, True), (90, True), (91, False)])
def test_what_is_remembered_is_forgotten_after_ninety_days(moved, days_ago, is_remembered):
    leave_on = timezone.localdate() - dt.timedelta(days=days_ago)
    moved.child.enrolments.filter(cohort=moved.cohort).update(
        start=leave_on - dt.timedelta(weeks=8), end=leave_on
    )
    assert (moved.child in Child.objects.remembered_by(moved.coach)) is is_remembered
    own = session_of(moved.child, moved.cohort, leave_on)
    assert (own in AssignedSession.objects.remembered_by(moved.coach)) is is_remembered
    mine = Enrolment.objects.visible_to(moved.coach).filter(child=moved.child)
    assert mine.exists() is is_remembered


def test_the_program_says_how_long_and_a_program_that_says_not_at_all_is_followed(moved):
    AccessRules.objects.change(moved.head_coach, timezone.now(), history_days=0)
    assert moved.child not in Child.objects.remembered_by(moved.coach)
    AccessRules.objects.change(moved.head_coach, timezone.now(), history_days=1)
    assert moved.child in Child.objects.remembered_by(moved.coach)


def test_a_report_on_the_own_block_stays_with_its_coach_for_that_time(moved):
    block = BlockFactory(cohort=moved.cohort)
    Report.objects.create(block=block, child=moved.child)
    assert Report.objects.visible_to(moved.coach).count() == 1
    AccessRules.objects.change(moved.head_coach, timezone.now(), history_days=0)
    assert not Report.objects.visible_to(moved.coach).exists()


def test_a_parent_who_coaches_keeps_the_own_child(moved):
    moved.child.guardianships.create(guardian=moved.coach)
    assert moved.child in Child.objects.visible_to(moved.coach)


def test_a_coach_who_is_no_longer_the_cohorts_remembers_nothing(moved):
    moved.cohort.coaches.remove(moved.coach)
    assert not Child.objects.remembered_by(moved.coach).exists()


def test_who_was_switched_off_remembers_nothing(moved):
    moved.coach.is_active = False
    assert not Child.objects.remembered_by(moved.coach).exists()
    assert not AssignedSession.objects.remembered_by(moved.coach).exists()
