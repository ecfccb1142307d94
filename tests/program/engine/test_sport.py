"""Sport outside the program, week by week, with hours added up by hand."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.sport import (
    NOT_KNOWN,
    Different,
    Sport,
    SportIn,
    UsualWeek,
    is_above_age,
    together,
)

MONDAY = dt.date(2026, 11, 23)
A_WEEK = dt.timedelta(weeks=1)
MON, TUE, WED, THU, FRI, SAT, SUN = range(1, 8)
CLUB = UsualWeek(MONDAY, 7.5, frozenset({MON, WED, SAT}))


def day(plus: int) -> dt.date:
    return MONDAY + dt.timedelta(days=plus)


def test_a_usual_week_is_its_hours_and_its_days():
    assert Sport((CLUB,)).in_seven_days(MONDAY) == SportIn(7.5, {day(0), day(2), day(5)})


def test_a_child_of_whom_nobody_has_said_anything_is_not_known_and_not_0():
    assert Sport().in_seven_days(MONDAY) == NOT_KNOWN
    assert NOT_KNOWN.hours is None
    nothing = UsualWeek(MONDAY, 0, frozenset())
    assert Sport((nothing,)).in_seven_days(MONDAY) == SportIn(0, frozenset())


def test_what_was_said_holds_from_its_week_on_until_something_else_was_said():
    less = UsualWeek(MONDAY + 3 * A_WEEK, 3, frozenset({TUE}))
    said = Sport((CLUB, less))
    assert said.in_seven_days(MONDAY - A_WEEK) == NOT_KNOWN
    assert said.in_seven_days(MONDAY + 2 * A_WEEK).hours == 7.5
    assert said.in_seven_days(MONDAY + 3 * A_WEEK).hours == 3


def test_after_half_a_year_nobody_knows_any_more():
    said = Sport((CLUB,))
    assert said.in_seven_days(MONDAY + 25 * A_WEEK).hours == 7.5
    assert said.in_seven_days(MONDAY + 26 * A_WEEK) == NOT_KNOWN


def test_a_week_without_is_known_to_have_none():
    said = Sport((CLUB,), {MONDAY: Different.NOTHING})
    assert said.in_seven_days(MONDAY) == SportIn(0, frozenset())
    assert said.in_seven_days(MONDAY + A_WEEK).hours == 7.5


def test_of_a_week_with_less_nobody_knows_how_much_less():
    assert Sport((CLUB,), {MONDAY: Different.LESS}).in_seven_days(MONDAY) == NOT_KNOWN


def test_a_week_with_more_has_at_least_the_usual():
    found = Sport((CLUB,), {MONDAY: Different.MORE}).in_seven_days(MONDAY)
    assert found == SportIn(7.5, {day(0), day(2), day(5)}, is_at_least=True)


def test_a_blocks_week_from_a_thursday_takes_its_share_of_two_weeks_of_the_calendar():
    # From Thursday 26: Saturday of this week, Monday and Wednesday of the next, which is without.
    # A third of 7.5 hours is 2.5.
    said = Sport((CLUB,), {MONDAY + A_WEEK: Different.NOTHING})
    assert said.in_seven_days(day(3)) == SportIn(2.5, {day(5)})
    assert Sport((CLUB,)).in_seven_days(day(3)) == SportIn(7.5, {day(5), day(7), day(9)})


@given(
    hours=st.integers(1, 80).map(lambda halves: halves / 2),
    days=st.sets(st.integers(1, 7), min_size=1),
    plus=st.integers(0, 100),
)
def test_any_seven_days_of_usual_weeks_have_the_usual_hours(hours, days, plus):
    said = Sport((UsualWeek(MONDAY, hours, frozenset(days)),))
    found = said.in_seven_days(day(plus))
    assert found.hours == hours
    assert {each.isoweekday() for each in found.days} == days


class TestAsking:
    def test_it_is_asked_where_nobody_has_said(self):
        assert Sport().is_to_be_asked(MONDAY)

    def test_and_again_once_a_season_that_is_after_seventeen_weeks(self):
        said = Sport((CLUB,))
        assert not said.is_to_be_asked(day(17 * 7 - 1))
        assert said.is_to_be_asked(day(17 * 7))


def test_hours_elsewhere_and_minutes_here_are_added():
    # 9.5 hours, and three sessions of 40, 40 and 45 minutes: 125 minutes are 2.1 hours.
    assert together(9.5, (40 + 40 + 45) * 60) == 11.6


@pytest.mark.parametrize(("hours", "above"), [(9.9, False), (10, False), (10.1, True)])
def test_more_hours_than_years_is_more_and_as_many_is_not(hours, above):
    assert is_above_age(hours, 10) is above
