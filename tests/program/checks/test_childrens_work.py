"""A child who was away, joined late or is in two groups is held against its own weeks, not the
group's.

In these weeks the runners hop forty times on each Monday, and the program lets nobody begin with
more than thirty.
"""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from library.models import Exercise
from program.checks.session_checks import results_for_session
from program.models import AssignedSession, AssignedSlot, CheckChange, Session, Slot
from program.publish.publishing import publish
from tests.support.factories import MONDAY, ChildFactory, CompletionFactory
from tests.support.family import text
from tests.support.hops import EIGHT_YEARS_AGO, hops, two_groups

pytestmark = pytest.mark.django_db
A_DAY, A_WEEK = dt.timedelta(days=1), dt.timedelta(weeks=1)
BEGINS_AGAIN = (
    "40 ground contacts on one day for 1 of 2 children, after two weeks without any; at most 30"
    " are usual to begin with."
)


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def club(cast):
    CheckChange.objects.create(
        code="landing_start", most=30, reason="We begin low.", at=timezone.now()
    )
    return two_groups(cast)


def sent(cast, *sessions) -> None:
    for session in sessions:
        publish(session, cast.head_coach, timezone.now(), because="It was asked for on Monday.")


def two_weeks_of(cast, cohort) -> list[Session]:
    """Sent, of the two weeks before this one."""
    sessions = [hops(cohort, 40, MONDAY - n * A_WEEK) for n in (2, 1)]
    sent(cast, *sessions)
    return sessions


def logged(child, sessions, state, **details) -> None:
    for assigned in AssignedSession.objects.filter(child=child, session__in=sessions):
        CompletionFactory(assigned_session=assigned, state=state, **details)


def results(session) -> dict:
    found = results_for_session(Session.objects.with_plan().get(pk=session.pk))
    return {each.result.code: each.result for each in found}


def test_who_did_none_of_two_weeks_begins_again_and_who_said_nothing_has_done_it(cast, club):
    before, this_week = two_weeks_of(cast, club.runners), hops(club.runners, 40)
    assert "landing_start" not in results(this_week)
    logged(cast.child, before, "done")
    logged(club.nora, before, "not")
    told = results(this_week)["landing_start"]
    assert (told.sentence, told.who) == (BEGINS_AGAIN, (club.nora.pk,))


def test_one_week_done_is_no_new_beginning(cast, club):
    before = two_weeks_of(cast, club.runners)
    logged(club.nora, before[:1], "not")
    assert "landing_start" not in results(hops(club.runners, 40))


def test_who_was_not_sent_what_the_others_were_begins_from_nothing(cast, club):
    before, this_week = two_weeks_of(cast, club.runners), hops(club.runners, 40)
    AssignedSession.objects.filter(child=club.nora, session__in=before).delete()
    assert results(this_week)["landing_start"].who == (club.nora.pk,)


def test_who_joins_this_week_begins_from_nothing(cast, club):
    two_weeks_of(cast, club.runners)
    lea = ChildFactory(birth_date=EIGHT_YEARS_AGO)
    lea.enrolments.create(cohort=club.runners, start=MONDAY)
    told = results(hops(club.runners, 40))["landing_start"]
    assert told.who == (lea.pk,)
    assert "for 1 of 3 children" in told.sentence


def test_what_was_written_before_somebody_joined_is_not_its_own(cast, club):
    for weeks in (2, 1):
        hops(club.runners, 40, MONDAY - weeks * A_WEEK)
    lea = ChildFactory(birth_date=EIGHT_YEARS_AGO)
    lea.enrolments.create(cohort=club.runners, start=MONDAY)
    assert results(hops(club.runners, 40))["landing_start"].who == (lea.pk,)


def test_what_was_done_on_the_day_after_lands_there(cast, club):
    """Monday's hops, done on Tuesday, and Wednesday's are two landing days in a row."""
    monday, wednesday = hops(club.runners, 5), hops(club.runners, 5, MONDAY + 2 * A_DAY)
    sent(cast, monday)
    assert "landing_days" not in results(wednesday)
    logged(club.nora, [monday], "done", done_on=MONDAY + A_DAY)
    assert results(wednesday)["landing_days"].who == (club.nora.pk,)


def test_who_comes_from_another_group_brings_its_weeks_along(cast, club):
    """Lea has hopped with the swimmers, whom she left on Sunday."""
    two_weeks_of(cast, club.runners)
    lea = ChildFactory(birth_date=EIGHT_YEARS_AGO)
    lea.enrolments.create(cohort=club.swimmers, start=MONDAY - 8 * A_WEEK, end=MONDAY - A_DAY)
    lea.enrolments.create(cohort=club.runners, start=MONDAY)
    two_weeks_of(cast, club.swimmers)
    assert "landing_start" not in results(hops(club.runners, 40))


def test_a_week_that_was_called_off_was_a_week_without(cast, club):
    before, this_week = two_weeks_of(cast, club.runners), hops(club.runners, 40)
    Session.objects.filter(pk__in=[each.pk for each in before]).update(called_off_at=timezone.now())
    told = results(this_week)["landing_start"]
    assert told.who == ()
    assert "of 2 children" not in told.sentence


def test_what_is_called_off_is_no_second_session_of_the_day(cast, club):
    morning, evening = hops(club.runners, 5), hops(club.runners, 5)
    sent(cast, morning)
    assert "sessions_a_day" in results(evening)
    Session.objects.filter(pk=morning.pk).update(called_off_at=timezone.now())
    assert "sessions_a_day" not in results(evening)


def test_a_pattern_begins_again_for_who_did_none_of_it(cast, club):
    """Ten sets of calf raises a week; Nora did none of the last two weeks'."""

    def raises(day: dt.date) -> Session:
        session = hops(club.runners, 8, day)
        session.parts.update(rounds=10)
        calf_raise = Exercise.objects.get(slug="calf-raise")
        Slot.objects.filter(part__session=session).update(exercise=calf_raise)
        return session

    before = [raises(MONDAY - n * A_WEEK) for n in (2, 1)]
    sent(cast, *before)
    this_week = raises(MONDAY)
    assert "pattern_start" not in results(this_week)
    logged(club.nora, before, "not")
    assert results(this_week)["pattern_start"].who == (club.nora.pk,)


def test_two_groups_give_a_child_landing_days_in_a_row_that_neither_has(cast, club, client_for):
    """Runners on Monday and Wednesday; the gymnasts' Tuesday is written and not sent yet."""
    monday = hops(club.runners, 5)
    hops(club.runners, 5, MONDAY + 2 * A_DAY)
    assert "landing_days" not in results(monday)
    hops(club.gymnasts, 5, MONDAY + A_DAY)
    told = results(monday)["landing_days"]
    assert told.sentence == (
        "3 landing days in a row for 1 of 2 children; a day between them is usual."
    )
    assert (told.who, told.groups) == ((club.nora.pk,), (club.gymnasts.pk,))
    panel = text(client_for(cast.coach).get(reverse("program:look", args=[monday.pk])))
    assert "Nora T., with another group." in panel
    assert "Gymnasts" not in panel


def test_whom_a_check_means_is_named_to_who_may_see_the_child(cast, club, client_for):
    before, this_week = two_weeks_of(cast, club.runners), hops(club.runners, 40)
    logged(club.nora, before, "not")
    panel = text(client_for(cast.coach).get(reverse("program:look", args=[this_week.pk])))
    assert BEGINS_AGAIN in panel
    assert "Nora T." in panel
    assert "not placed on landing" not in panel


def test_of_what_was_sent_the_landings_count_as_they_were_fitted(cast, club):
    """Forty are written: Nora was sent twenty of them, and the other child twenty-five."""
    forty = hops(club.runners, 40)
    assert results(forty)["landing_start"].found == 40
    sent(cast, forty)
    for child, amount in ((club.nora, 20), (cast.child, 25)):
        AssignedSlot.objects.filter(assigned_session__child=child).update(amount=amount)
    assert "landing_start" not in results(forty)
