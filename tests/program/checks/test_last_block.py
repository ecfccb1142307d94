"""What each check would have said over a cohort's last block, on the page of checks."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from program.checks.last_block import rules_over_last_block
from program.models import CheckChange
from tests.support.factories import MONDAY, BlockFactory, ChildFactory
from tests.support.family import text
from tests.support.hops import hops, two_groups

pytestmark = pytest.mark.django_db
A_WEEK = dt.timedelta(weeks=1)
ADDRESS = reverse("program:checks")
NO_WARM_UP = "There is no warm-up."


@pytest.fixture(autouse=True)
def monday_it_is(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_: MONDAY + A_WEEK)


@pytest.fixture
def club(cast):
    """The runners' block: five hops on its first Monday, and twice thirty-five on its second."""
    club = two_groups(cast)
    club.block = BlockFactory(cohort=club.runners, name="Autumn", starts_on=MONDAY)
    in_block(club, 5, MONDAY)
    in_block(club, 35, MONDAY + A_WEEK, rounds=2)
    return club


def in_block(club, amount: int, day: dt.date, rounds: int = 1) -> None:
    session = hops(club.runners, amount, day)
    session.parts.update(rounds=rounds)
    of_its_own, session.block = session.block, club.block
    session.save()
    of_its_own.delete()


def rows(coach, chosen=None) -> dict:
    over = rules_over_last_block(coach, chosen, MONDAY + A_WEEK)
    return {row.held.rule.code: row for row in over.rows}


def test_each_check_says_what_it_would_have_said_and_where(cast, club):
    """The second week's seventy contacts are over Nora's sixty, its two sets twice the first
    week's. Neither session has a warm-up."""
    said = rows(cast.coach)
    (jump,) = said["volume_jump"].said
    assert (jump.sentence, jump.where) == (
        "Calf ankle: 2 sets this week, after at most 1 in the two weeks before.",
        "week 2",
    )
    (contacts,) = said["contacts"].said
    assert contacts.sentence.startswith("70 ground contacts: more than is usual for 1 of 2")
    (warm_up,) = said["warm_up"].said
    assert (warm_up.sentence, warm_up.where) == (NO_WARM_UP, "Mon 2 Nov and Mon 9 Nov")
    assert said["warm_up"].times == 2
    assert said["rest_days"].said == said["landing_days"].said == ()


def test_one_that_is_switched_off_tells_what_it_would_have_said(cast, club, client_for):
    CheckChange.objects.create(
        code="warm_up", is_off=True, reason="We play first.", at=timezone.now()
    )
    assert rows(cast.coach)["warm_up"].said[0].sentence == NO_WARM_UP
    page = text(client_for(cast.coach).get(ADDRESS))
    assert "Were it on, it would have spoken 2 times" in page


def test_the_limit_is_the_one_that_stands(cast, club):
    CheckChange.objects.create(
        code="volume_jump", most=300, reason="We grow fast.", at=timezone.now()
    )
    (jump,) = rows(cast.coach)["volume_jump"].said
    assert jump.sentence.startswith("Calf ankle: 70 repetitions this week, after at most 5")
    CheckChange.objects.create(code="contacts", most=150, reason="Soft floor.", at=timezone.now())
    assert rows(cast.coach)["contacts"].said == ()


def test_the_page_names_children_to_their_coach_and_another_cohorts_block_to_nobody_else(
    cast, club, client_for
):
    """The runners' coach cannot look at the gymnasts' block; whoever coaches both chooses."""
    hops(club.gymnasts, 5)
    page = text(client_for(cast.coach).get(ADDRESS))
    assert "Autumn" in page
    assert "Nora T., with another group." in page
    assert "Gymnasts" not in page
    other = f"{ADDRESS}?cohort={club.gymnasts.pk}"
    assert client_for(cast.coach).get(other).status_code == 404
    club.gymnasts.coaches.add(cast.coach)
    assert "Gymnasts" in text(client_for(cast.coach).get(ADDRESS))
    assert "Autumn" not in text(client_for(cast.coach).get(other))


def test_without_a_block_the_checks_are_told_as_ever(cast, client_for):
    page = text(client_for(cast.coach).get(ADDRESS))
    assert "Strength days in a week" in page
    assert "has no block yet" in page


def test_a_longer_block_and_more_children_cost_no_more_queries(cast, club, client_for):
    coach = client_for(cast.coach)

    def cost() -> int:
        with CaptureQueriesContext(connection) as counted:
            assert coach.get(ADDRESS).status_code == 200
        return len(counted)

    few = cost()
    for week in range(2, 6):
        in_block(club, 90, MONDAY + week * A_WEEK)
        ChildFactory(cohort=club.runners)
    assert cost() == few
