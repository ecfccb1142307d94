"""Weeks of seven days: from a Monday in the calendar, from its own first day in a block."""

import datetime as dt
from typing import Final

A_DAY: Final = dt.timedelta(days=1)
A_WEEK: Final = dt.timedelta(weeks=1)

MOST_WEEKS: Final = 26
"""How long a block may last, and so a break in it and the time until something in it grows."""


def monday_of(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())


def week_end(starts: dt.date) -> dt.date:
    """The last of the seven days from `starts`."""
    return starts + 6 * A_DAY


def days_of_week(starts: dt.date) -> list[dt.date]:
    """The seven days from `starts`."""
    return [starts + n * A_DAY for n in range(7)]
