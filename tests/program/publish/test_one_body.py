"""A child in two cohorts is one body: its landings of a day are counted over all its sessions."""

import datetime as dt
from functools import partial

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from program.engine.fit.reasons import Reason, for_coach
from program.models import AssignedSession, Completion, Slot
from program.publish.closing import children_who_hold_what_is_forbidden, sweep
from program.publish.publishing import publish
from tests.support.cast import named_cast
from tests.support.describing import describe
from tests.support.factories import MONDAY, ChildFactory, CompletionFactory
from tests.support.hops import EIGHT_YEARS_AGO, gets, hops, two_groups
from tests.support.together import together
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY)


@pytest.fixture
def club(cast):
    return two_groups(cast)


def sent(cast, *sessions) -> None:
    for session in sessions:
        session.refresh_from_db()
        publish(session, cast.head_coach, timezone.now(), because="It was asked for on Monday.")


def forbidden() -> set[int]:
    return children_who_hold_what_is_forbidden(MONDAY)


def test_forty_landings_with_the_gymnasts_leave_twenty_of_sixty_with_the_runners(cast, club):
    """Nora may land 60 times: 40 and 20 are 60, and one more is not. Her friend has only the
    runners."""
    friend = ChildFactory(birth_date=EIGHT_YEARS_AGO, cohort=club.runners)
    gymnasts = hops(club.gymnasts, 40)
    twenty, one_more = hops(club.runners, 20), hops(club.swimmers, 1)
    club.nora.enrolments.create(cohort=club.swimmers, start=MONDAY)
    sent(cast, gymnasts, twenty, one_more)
    assert gets(gymnasts, club.nora) == ("hop", 40)
    assert gets(twenty, club.nora) == gets(twenty, friend) == ("hop", 20)
    assert gets(one_more, club.nora) == ("calf-raise", 1)
    (slot,) = one_more.assigned.get(child=club.nora).slots.all()
    assert for_coach(Reason.from_json(slot.reasons[0])) == (
        "60 ground contacts in another session that day, and hop would pass 60 together: calf "
        "raise instead"
    )
    assert forbidden() == set()


def test_a_quarter_of_them_may_come_from_a_height_in_all_groups_together(cast, club):
    """Of 60 that is 15: 10 with the gymnasts and 5 with the runners; one more is not."""
    describe("hop", contact_class="from_height")
    gymnasts, five, one_more = (
        hops(club.gymnasts, 10),
        hops(club.runners, 5),
        hops(club.swimmers, 1),
    )
    club.nora.enrolments.create(cohort=club.swimmers, start=MONDAY)
    sent(cast, gymnasts, five, one_more)
    assert (gets(gymnasts, club.nora), gets(five, club.nora)) == (("hop", 10), ("hop", 5))
    assert gets(one_more, club.nora) == ("calf-raise", 1)
    (slot,) = one_more.assigned.get(child=club.nora).slots.all()
    assert for_coach(Reason.from_json(slot.reasons[0])) == (
        "hop would pass 15 ground contacts of its kind (from a height) on this day: calf raise "
        "instead"
    )
    assert forbidden() == set()


def test_what_lands_harder_than_was_known_is_chosen_anew(cast, club):
    """Twenty low ones are far from 60; from a height they are more than 15."""
    runners = hops(club.runners, 20)
    sent(cast, runners)
    assert forbidden() == set()
    describe("hop", contact_class="from_height")
    assert gets(runners, club.nora) is None
    work_off()
    assert gets(runners, club.nora) == ("calf-raise", 20)
    assert forbidden() == set()


def test_what_was_published_first_keeps_what_it_has_when_it_is_published_again(cast, club):
    """Gymnasts 40, then runners 20. The gymnasts, written up to 41, find 40 left, and go easier."""
    gymnasts, runners = hops(club.gymnasts, 40), hops(club.runners, 20)
    sent(cast, gymnasts, runners, gymnasts, runners)
    assert (gets(gymnasts, club.nora), gets(runners, club.nora)) == (("hop", 40), ("hop", 20))
    Slot.objects.filter(part__session=gymnasts).update(amount=41)
    sent(cast, gymnasts)
    assert gets(gymnasts, club.nora)[0] == "calf-raise"
    assert gets(runners, club.nora) == ("hop", 20)


def test_a_second_session_of_the_same_cohort_and_another_day(cast, club):
    """50 in the morning leave 10 in the evening; tomorrow is another day."""
    morning, evening = hops(club.runners, 50), hops(club.runners, 11)
    tomorrow = hops(club.runners, 60, MONDAY + dt.timedelta(days=1))
    sent(cast, morning, evening, tomorrow)
    assert gets(evening, club.nora)[0] == "calf-raise"
    assert gets(tomorrow, club.nora) == ("hop", 60)


def test_what_was_done_with_one_group_counts_whatever_its_log_says(cast, club):
    """A log can still be changed, so 40 logged as not done leave 20 as well."""
    gymnasts, runners = hops(club.gymnasts, 40), hops(club.runners, 21)
    sent(cast, gymnasts)
    log = CompletionFactory(
        assigned_session=gymnasts.assigned.get(child=club.nora),
        state="done",
        logged_at=timezone.now(),
    )
    sent(cast, runners)
    assert gets(runners, club.nora)[0] == "calf-raise"
    Completion.objects.filter(pk=log.pk).update(state="not", done_on=None)
    sent(cast, runners)
    assert gets(runners, club.nora)[0] == "calf-raise"


def test_a_growth_spurt_leaves_what_was_published_first_and_chooses_the_other_anew(cast, club):
    """Half of 60 is 30. Gymnasts 25 stay; with the runners 25 there would be 50, so those are
    chosen anew: 5 are left, and 25 are calf raises."""
    gymnasts, runners = hops(club.gymnasts, 25), hops(club.runners, 25)
    sent(cast, gymnasts, runners)
    club.nora.growing_fast_until = MONDAY + dt.timedelta(days=90)
    club.nora.save()
    assert forbidden() == {club.nora.pk}
    sweep(timezone.now(), MONDAY)
    assert forbidden() == set()
    work_off()
    assert gets(gymnasts, club.nora) == ("hop", 25)
    assert gets(runners, club.nora) == ("calf-raise", 25)
    assert forbidden() == set()


def test_what_passes_the_ceiling_by_itself_is_closed_though_it_was_published_first(cast, club):
    """Half of 60 is 30: the gymnasts’ 40 pass it alone, and the runners’ 20 stay."""
    gymnasts, runners = hops(club.gymnasts, 40), hops(club.runners, 20)
    sent(cast, gymnasts, runners)
    club.nora.growing_fast_until = MONDAY + dt.timedelta(days=90)
    club.nora.save()
    sweep(timezone.now(), MONDAY)
    work_off()
    assert (gets(gymnasts, club.nora)[0], gets(runners, club.nora)) == ("calf-raise", ("hop", 20))


def test_a_childs_other_sessions_of_the_day_cost_no_more_queries(cast, club):
    """The invariant over one child of two groups, and over nine."""

    def cost() -> int:
        with CaptureQueriesContext(connection) as counted:
            assert forbidden() == set()
        return len(counted)

    sent(cast, hops(club.gymnasts, 10), hops(club.runners, 10))
    few = cost()
    for _ in range(8):
        child = ChildFactory(birth_date=EIGHT_YEARS_AGO, cohort=club.runners)
        child.enrolments.create(cohort=club.gymnasts, start=MONDAY)
    sent(cast, hops(club.gymnasts, 10), hops(club.runners, 10))
    assert cost() == few


@pytest.mark.django_db(transaction=True)
def test_two_coaches_who_publish_to_one_child_at_once_see_one_another():
    """40 and 40 at the same moment: one of the two gives hops, whichever came first."""
    cast = named_cast()
    club = two_groups(cast)
    for _ in range(3):
        AssignedSession.objects.all().delete()
        gymnasts, runners = hops(club.gymnasts, 40), hops(club.runners, 40)
        together(
            partial(publish, gymnasts, cast.other_coach, timezone.now()),
            partial(publish, runners, cast.coach, timezone.now()),
        )
        got = [gets(each, club.nora)[0] for each in (gymnasts, runners)]
        assert sorted(got) == ["calf-raise", "hop"]
        assert forbidden() == set()
