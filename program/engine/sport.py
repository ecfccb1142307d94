"""A child's sport outside the program, as its family has said, for any seven days.

A family says what a usual week is, and of a single week that it is different. Of what nobody has
said nothing is known, which is never none.

Jayanthi et al. 2015 (Am J Sports Med 43:794-801), 822 injured and 368 uninjured athletes of 7 to
18 years: more hours of sport a week than years of age went with serious overuse injury (odds 2.07
times as high). Free play and lessons of physical education were asked for apart; here they are not
asked for at all. Brenner & Watson 2024 (Pediatrics, doi 10.1542/peds.2023-065129): at least one to
two days a week off organised training. That an answer is asked for once in 17 weeks and holds for
26 is a house rule.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final, NamedTuple

from program.engine.weeks import A_DAY, A_WEEK, monday_of, week_end

A_SEASON: Final = 17 * A_WEEK
"""After this long it is asked again."""

HOLDS_FOR: Final = 26 * A_WEEK
"""How long what was said is taken to be so."""


class Different(StrEnum):
    """How a week differs from the usual one."""

    NOTHING = "nothing"
    LESS = "less"
    MORE = "more"


class UsualWeek(NamedTuple):
    """What a usual week is from a Monday on: hours, and days from 1 for Monday to 7. No hours have
    no days, and no others do."""

    since: dt.date
    hours: float
    days: Set[int]


class SportIn(NamedTuple):
    """What a child does outside the program in seven days: hours, None where they are not known,
    and on which days; `is_at_least` where it may be more."""

    hours: float | None
    days: Set[dt.date] = frozenset()
    is_at_least: bool = False


NOT_KNOWN: Final = SportIn(None)


@dataclass(frozen=True)
class Sport:
    """What was said: the usual weeks, the oldest first, and by their Monday those that differ."""

    usual: Sequence[UsualWeek] = ()
    different: Mapping[dt.date, Different] = field(default_factory=dict)

    def usual_on(self, day: dt.date) -> UsualWeek | None:
        """The usual week as it holds on that day."""
        monday = monday_of(day)
        known = (each for each in reversed(self.usual) if each.since <= monday)
        last = next(known, None)
        return last if last and monday < last.since + HOLDS_FOR else None

    def is_to_be_asked(self, day: dt.date) -> bool:
        """Whether nobody has said what is usual, or not for a season."""
        last = self.usual_on(day)
        return last is None or monday_of(day) - last.since >= A_SEASON

    def in_seven_days(self, starts: dt.date) -> SportIn:
        """From any day of the week: a block's week takes of each of two calendar weeks the share of
        the days that it holds."""
        hours, days, is_at_least = 0.0, set(), False
        last = week_end(starts)
        for monday in {monday_of(starts), monday_of(last)}:
            usual, different = self.usual_on(monday), self.different.get(monday)
            if different is Different.NOTHING:
                continue
            if usual is None or different is Different.LESS:
                return NOT_KNOWN
            those = {monday + (day - 1) * A_DAY for day in usual.days}
            here = {day for day in those if starts <= day <= last}
            hours += usual.hours * len(here) / max(1, len(those))
            days |= here
            is_at_least = is_at_least or different is Different.MORE
        return SportIn(round(hours, 1), frozenset(days), is_at_least)


NOTHING_SAID: Final = Sport()


def together(elsewhere: float, seconds: float) -> float:
    """Hours of sport a week, from those elsewhere and the seconds of the program's sessions."""
    return round(elsewhere + seconds / 3600, 1)


def is_above_age(hours: float, age: int) -> bool:
    """Whether these are more hours of sport a week than whole years of age."""
    return hours > age


@dataclass(frozen=True)
class WholeWeek:
    """All the sport of a child's calendar week: elsewhere, and by day the seconds of the sessions
    that the program has sent it. `age` is in whole years."""

    age: int
    elsewhere: SportIn
    here: Mapping[dt.date, int]

    @property
    def hours_here(self) -> float:
        return together(0, sum(self.here.values()))

    @property
    def hours(self) -> float | None:
        """Of all together; None where what it does elsewhere is not known."""
        if self.elsewhere.hours is None:
            return None
        return together(self.elsewhere.hours, sum(self.here.values()))

    @property
    def is_above_age(self) -> bool:
        return self.hours is not None and is_above_age(self.hours, self.age)

    @property
    def days_off(self) -> int | None:
        """Days without any of it; None where what it does elsewhere is not known."""
        return None if self.hours is None else days_off(self.here, self.elsewhere.days)

    @property
    def has_no_day_off(self) -> bool:
        """Whether every day has some, and not by the program's sessions alone."""
        return self.days_off == 0 and bool(self.elsewhere.days)


def days_off(*busy: Iterable[dt.date]) -> int:
    """How many days of a week are free of all these."""
    return 7 - len({day for days in busy for day in days})
