"""Who gets what says what is left of a child's landings that day, and to whom it may be said."""

import pytest
from django.urls import reverse
from django.utils import timezone

from program.publish.publishing import publish
from tests.support.factories import MONDAY, ChildFactory
from tests.support.family import text
from tests.support.hops import EIGHT_YEARS_AGO, hops, two_groups
from tests.support.planning import queries_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def club(cast):
    return two_groups(cast)


def page(client, name, session) -> str:
    return text(client.get(reverse(f"program:{name}", args=[session.pk])))


def send(cast, *sessions) -> None:
    for session in sessions:
        publish(session, cast.head_coach, timezone.now(), because="It was asked for on Monday.")


def test_who_gets_what_and_the_margin_say_what_is_left_of_the_day(cast, club, client_for):
    """Nora’s 40 with the gymnasts leave 20 of 60; the coach of the runners alone reads no name."""
    gymnasts, runners = hops(club.gymnasts, 40), hops(club.runners, 21)
    coach = client_for(cast.coach)
    assert "one body" not in page(coach, "who_gets_what", runners)
    send(cast, gymnasts)
    alone = "Nora T. has 40 landings with another group the same day: 20 of 60 are left."
    for name in ("who_gets_what", "fit_counts"):
        assert alone in page(coach, name, runners)
        assert "Gymnasts" not in page(coach, name, runners)
    assert (
        "40 ground contacts in another session that day, and hop would pass 60 together: calf "
        "raise instead"
    ) in page(coach, "fit_counts", runners)
    club.gymnasts.coaches.add(cast.coach)
    named = "Nora T. has 40 landings with Gymnasts the same day: 20 of 60 are left."
    assert named in page(coach, "who_gets_what", runners)


def test_each_childs_volumes_are_told_beside_what_it_lands_elsewhere(cast, club, client_for):
    gymnasts, morning = hops(club.gymnasts, 30), hops(club.runners, 10)
    evening = hops(club.runners, 20)
    send(cast, gymnasts, morning)
    volumes = page(client_for(cast.coach), "child_volumes", evening)
    assert "20 of 60, beside 40 in another session of this group and with another group" in volumes
    assert "for the whole day" in volumes


@pytest.mark.parametrize("name", ["who_gets_what", "fit_counts", "child_volumes"])
def test_other_sessions_of_the_day_cost_no_more_queries(cast, club, client_for, name):
    coach, runners = client_for(cast.coach), hops(club.runners, 21)
    address = reverse(f"program:{name}", args=[runners.pk])
    send(cast, hops(club.gymnasts, 10))
    page(coach, name, runners)
    few = queries_of(coach, address)
    for _ in range(9):
        child = ChildFactory(birth_date=EIGHT_YEARS_AGO, cohort=club.runners)
        child.enrolments.create(cohort=club.gymnasts, start=MONDAY)
    send(cast, hops(club.gymnasts, 10), hops(club.gymnasts, 5), hops(club.swimmers, 10))
    assert queries_of(coach, address) == few
