"""What a child does in another cohort counts in the checks of this one, and who may read what."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from program.checks.session_checks import results_for_session, results_for_sessions
from program.models import Session, StopReason
from program.publish.publishing import PublishNeedsReason, publish
from tests.support.factories import MONDAY, ChildFactory
from tests.support.family import text
from tests.support.hops import EIGHT_YEARS_AGO, hops, two_groups

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def club(cast):
    return two_groups(cast)


def sent(cast, *sessions) -> None:
    for session in sessions:
        publish(session, cast.head_coach, timezone.now(), because="It was asked for on Monday.")


def results(session) -> dict:
    found = results_for_session(Session.objects.with_plan().get(pk=session.pk))
    return {each.result.code: each.result for each in found}


def looked_at(client, session) -> str:
    return text(client.get(reverse("program:look", args=[session.pk])))


def test_what_the_gymnasts_were_sent_counts_with_the_runners(cast, club):
    """Nora’s 40 with the gymnasts and 21 here are 61 of 60, whether theirs is sent or written. What
    they have called off is neither."""
    gymnasts, runners = hops(club.gymnasts, 40), hops(club.runners, 21)
    in_both = (
        "21 ground contacts here and up to 40 in other groups that day: more than is usual for 1 "
        "child."
    )
    assert results(runners)["contacts"].sentence == in_both
    sent(cast, gymnasts)
    found = results(runners)
    assert found["contacts"].sentence == in_both
    assert found["sessions_a_day"].who == (club.nora.pk,)
    assert found["sessions_a_day"].groups == (club.gymnasts.pk,)
    Session.objects.filter(pk=gymnasts.pk).update(called_off_at=timezone.now())
    assert not {"contacts", "sessions_a_day"} & set(results(runners))


def test_several_groups_sessions_checked_together_are_told_what_each_is_told_alone(cast, club):
    sent(cast, hops(club.gymnasts, 40), hops(club.runners, 21))
    later = MONDAY + dt.timedelta(days=7)
    hops(club.runners, 5, later)
    sessions = list(Session.objects.with_plan())
    alone = {session.pk: results_for_session(session) for session in sessions}
    assert results_for_sessions(sessions) == alone
    assert len({frozenset(each.result.code for each in found) for found in alone.values()}) > 1


def test_a_coach_of_both_reads_the_groups_name_and_one_of_the_runners_alone_does_not(
    cast, club, client_for
):
    gymnasts, runners = hops(club.gymnasts, 40), hops(club.runners, 21)
    sent(cast, gymnasts)
    alone = looked_at(client_for(cast.coach), runners)
    assert "1 child has another session that day in another group." in alone
    assert "Nora T., with another group." in alone
    assert "Gymnasts" not in alone
    assert gymnasts.name not in alone
    assert "Place them" not in alone
    club.gymnasts.coaches.add(cast.coach)
    assert "Nora T., with Gymnasts." in looked_at(client_for(cast.coach), runners)


def test_no_day_off_over_both_groups_is_a_stop_when_the_last_of_them_is_published(cast, club):
    """Gymnasts from Tuesday to Sunday leave Nora her Monday; the runners would take it. What is
    kept of the reason names neither her nor the gymnasts."""
    days = [MONDAY + dt.timedelta(days=n) for n in range(1, 7)]
    sent(cast, *(hops(club.gymnasts, 5, day) for day in days))
    runners = hops(club.runners, 5)
    with pytest.raises(PublishNeedsReason, match="No day off this week for 1 child"):
        publish(runners, cast.coach, timezone.now())
    publish(runners, cast.coach, timezone.now(), because="She rests on Saturday, her mother says.")
    kept = StopReason.objects.get(session=runners)
    assert kept.children == [club.nora.pk]
    assert "Nora" not in kept.sentence
    assert "Gymnasts" not in kept.sentence


def test_other_groups_and_other_children_cost_no_more_queries(cast, club):
    runners = hops(club.runners, 21)

    def cost() -> int:
        session = Session.objects.with_plan().get(pk=runners.pk)
        with CaptureQueriesContext(connection) as counted:
            results_for_session(session)
        return len(counted)

    sent(cast, hops(club.gymnasts, 10))
    few = cost()
    for _ in range(9):
        child = ChildFactory(birth_date=EIGHT_YEARS_AGO, cohort=club.runners)
        child.enrolments.create(cohort=club.gymnasts, start=MONDAY)
        ChildFactory(cohort=club.swimmers)
    sent(cast, hops(club.gymnasts, 10), hops(club.swimmers, 10))
    assert cost() == few
