import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from program.engine.weeks import A_WEEK, days_of_week, monday_of, week_end

DAYS = st.dates(dt.date(2000, 1, 3), dt.date(2099, 12, 31))


def test_a_sunday_belongs_to_the_week_of_the_monday_before_it():
    assert monday_of(dt.date(2027, 1, 3)) == dt.date(2026, 12, 28)


def test_a_week_that_begins_on_a_thursday_ends_on_a_wednesday():
    assert week_end(dt.date(2026, 11, 5)) == dt.date(2026, 11, 11)


@given(DAYS)
def test_every_day_is_one_of_the_seven_of_its_calendar_week(day):
    monday = monday_of(day)
    week = days_of_week(monday)
    assert day in week
    assert [each.isoweekday() for each in week] == [1, 2, 3, 4, 5, 6, 7]
    assert week[-1] == week_end(monday) == monday + A_WEEK - dt.timedelta(days=1)
