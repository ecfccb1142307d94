"""What the queue says of a child's sport outside the program. It is Wednesday evening; the child is
eleven."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from athletes.models import DifferentWeek
from athletes.sport_elsewhere import UsualSport, say_usual, say_week
from program.review.decisions import resolve
from program.review.queue import queue_of
from tests.support.factories import MONDAY
from tests.support.family import EVENING, WEDNESDAY, assign
from tests.support.queue import labels, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening", "nothing_to_agree_to")]

A_WEEK = dt.timedelta(weeks=1)
HOURS = 3600


def says(cast, hours: str, *, club=(1, 3), matches=(), since=MONDAY) -> None:
    usual = UsualSport(Decimal(hours), club=club, matches=matches)
    say_usual(cast.child, usual, since, cast.guardian, EVENING)


def test_more_hours_than_years_are_found_with_what_they_are_made_of(cast):
    # 9.5 elsewhere; on Tuesday and Friday an hour here each: 11.5 at eleven years.
    says(cast, "9.5", matches=(6,))
    for plus in (1, 4):
        assign(cast.child, MONDAY + dt.timedelta(days=plus), seconds=HOURS)
    (found,) = waiting(cast.coach, "sport")
    assert found.headline == "11.5 hours of sport this week at 11 years"
    assert found.evidence == (
        "9.5 hours elsewhere on Mon, Wed and Sat, said from the week of Mon 2 Nov, and 2 here.",
        "More hours of sport a week than years of age went with serious overuse injury (Jayanthi et"
        " al. 2015). It is a reason to ask how it goes, no limit.",
    )
    assert labels(found) == ["Seen, look again in twelve weeks", "Look at the days"]
    assert found.url == reverse("program:child_review", args=[cast.child.public_id])


def test_what_the_program_alone_asks_for_is_found_too(cast):
    # Nothing elsewhere, and here three times four hours: 12 at eleven years.
    says(cast, "0", club=())
    for plus in (0, 2, 4):
        assign(cast.child, MONDAY + dt.timedelta(days=plus), seconds=4 * HOURS)
    (found,) = waiting(cast.coach, "sport")
    assert found.evidence[0] == ("Nothing elsewhere, said from the week of Mon 2 Nov, and 12 here.")


def test_as_many_hours_as_years_and_a_free_day_are_no_finding(cast):
    says(cast, "9")
    for plus in (1, 4):
        assign(cast.child, MONDAY + dt.timedelta(days=plus), seconds=HOURS)
    assert waiting(cast.coach, "sport") == []


def test_no_day_off_is_found_whatever_the_hours(cast):
    # Monday, Wednesday, Friday, Saturday and Sunday elsewhere; Tuesday and Thursday here.
    says(cast, "5", club=(1, 3, 5), matches=(6, 7))
    for plus in (1, 3):
        assign(cast.child, MONDAY + dt.timedelta(days=plus), seconds=HOURS)
    (found,) = waiting(cast.coach, "sport")
    assert found.headline == "No day of this week without sport"
    assert found.evidence[1] == (
        "At least one to two days a week off organised training are advised (Brenner & Watson"
        " 2024)."
    )


def test_without_an_answer_nothing_is_known_and_nothing_is_found(cast):
    for plus in range(7):
        assign(cast.child, MONDAY + dt.timedelta(days=plus), seconds=2 * HOURS)
    assert waiting(cast.coach, "sport") == []


def test_seen_it_stays_away_until_the_family_says_something_else(cast):
    says(cast, "12")
    (found,) = waiting(cast.coach, "sport")
    resolve(found, found.actions[0], cast.coach, EVENING, WEDNESDAY)
    assert waiting(cast.coach, "sport") == []
    says(cast, "13", since=MONDAY - A_WEEK)
    assert waiting(cast.coach, "sport") == []  # which is over
    later = WEDNESDAY + A_WEEK
    says(cast, "13", since=MONDAY + A_WEEK)
    assert [each.kind for each in queue_of(cast.coach, later).findings] == ["sport"]


def test_over_a_season_it_speaks_in_its_heavy_weeks_alone(cast):
    # Twelve hours at eleven years from the third week to the eighth; nothing in the fifth, a
    # holiday, less in the sixth, and then 8. The half-year after that nobody knows.
    says(cast, "8")
    says(cast, "12", since=MONDAY + 2 * A_WEEK)
    says(cast, "8", since=MONDAY + 8 * A_WEEK)
    how = DifferentWeek.How
    for week, each in ((4, how.NOTHING), (5, how.LESS), (6, how.MORE)):
        say_week(cast.child, MONDAY + week * A_WEEK, each, cast.guardian, EVENING)
    told = {
        week: found.headline
        for week in (0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 40)
        for found in queue_of(cast.coach, WEDNESDAY + week * A_WEEK).findings
        if found.kind == "sport"
    }
    twelve = "12 hours of sport this week at 11 years"
    assert told == {2: twelve, 3: twelve, 6: f"At least {twelve}", 7: twelve}
