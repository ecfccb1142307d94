"""Children of whom the real growth is known, measured on three to six days with a tape."""

import datetime as dt
import math
import random
from collections.abc import Callable
from typing import NamedTuple

from athletes.growth import (
    LONGEST,
    SHORTEST,
    YEAR,
    Measurement,
    TapeError,
    Velocity,
    tape_error,
    velocity,
)
from tests.known_truth import Row, beside_goals, chance

SEASONS = 4000
FIRST_DAY = dt.date(2026, 1, 10)
START = 140.0
CLUB_TAPE = 0.5
"""cm, SD of one reading: what `HEIGHT_ERROR` takes a tape to be."""

type Grown = Callable[[float], float]
"""Centimetres since the first day, by years since then."""


class Child(NamedTuple):
    """How a child really grows, how far a reading really is off (SD, in cm), and how many repeats
    its program has; `days`, on how many it is measured, or None for three to six."""

    called: str
    grows: Callable[[random.Random], Grown]
    tape: float = CLUB_TAPE
    repeats: int = 0
    days: int | None = None

    def seen(self, chance: random.Random) -> tuple[float, Velocity]:
        """What it really grew a year from the first to the last day, and what is said of it."""
        grown = self.grows(chance)
        days = _uneven_days(self.days or chance.randint(3, 6), chance)
        rows = [
            Measurement(FIRST_DAY + dt.timedelta(days=day), self._read(grown(day / YEAR), chance))
            for day in days
        ]
        found = velocity(rows, self._error(chance))
        if found is None:
            raise AssertionError("Three months and two days are enough.")
        return grown(days[-1] / YEAR) / (days[-1] / YEAR), found

    def _read(self, grown: float, chance: random.Random) -> float:
        return round(START + grown + chance.gauss(0, self.tape), 1)

    def _error(self, chance: random.Random) -> TapeError:
        twice = [(self._read(0, chance), self._read(0, chance)) for _ in range(self.repeats)]
        return tape_error(sum((one - other) ** 2 for one, other in twice), self.repeats)


def _uneven_days(of: int, chance: random.Random) -> list[int]:
    last = chance.randint(SHORTEST.days, LONGEST.days)
    return [0, *sorted(chance.sample(range(1, last), of - 2)), last]


def steadily(chance: random.Random) -> Grown:
    pace = chance.uniform(4, 10)
    return lambda years: pace * years


def five_a_year(_: random.Random) -> Grown:
    return lambda years: 5 * years


def at_the_peak(_: random.Random) -> Grown:
    return lambda years: 9.5 * years


def into_a_spurt(chance: random.Random) -> Grown:
    """From 5 cm a year to 9.5 at a peak within or soon after the year, and back: a bell whose SD is
    0.7 years."""
    peak, width = chance.uniform(0, 1.5), 0.7

    def bell(years: float) -> float:
        return math.erf((years - peak) / width / math.sqrt(2))

    scale = 4.5 * width * math.sqrt(math.pi / 2)
    return lambda years: 5 * years + scale * (bell(years) - bell(0))


HOLDS = [
    *(Child(f"steady growth, {n} days", steadily, days=n) for n in (3, 4, 5, 6)),
    Child("a spurt comes or goes, 3 to 6 days", into_a_spurt),
    Child("a surer tape (0.3 cm) than is taken", steadily, tape=0.3),
    Child("a tape of 0.8 cm, 10 repeats known", steadily, tape=0.8, repeats=10),
    Child("a tape of 0.8 cm, 40 repeats known", steadily, tape=0.8, repeats=40),
]
HOLDS_NOT = Child("a tape of 0.8 cm that nobody has shown", steadily, tape=0.8)
SPURTS = [
    Child("grows 5 cm a year", five_a_year),
    Child("grows 9.5 cm a year, the peak of boys", at_the_peak),
    Child("grows 9.5 cm a year, tape of 0.3 cm, 40 repeats", at_the_peak, tape=0.3, repeats=40),
]
GOAL = "at least 94 %"


def rows(seasons: int = SEASONS) -> list[Row]:
    return [
        *(
            Row(child.called, "the band holds", GOAL, _holds(child, seasons), seasons)
            for child in HOLDS
        ),
        Row(HOLDS_NOT.called, "the band holds", "–", _holds(HOLDS_NOT, seasons), seasons),
        *(
            Row(child.called, "called a spurt", "–", _spurts(child, seasons), seasons)
            for child in SPURTS
        ),
    ]


def _holds(child: Child, seasons: int) -> int:
    seen = (child.seen(chance(child.called, number)) for number in range(seasons))
    return sum(found.low <= truth <= found.high for truth, found in seen)


def _spurts(child: Child, seasons: int) -> int:
    return sum(child.seen(chance(child.called, number))[1].is_a_spurt for number in range(seasons))


def text() -> str:
    return TEXT.format(rows=beside_goals(rows()), children=SEASONS, tape=CLUB_TAPE)


TEXT = """## Growth

{children} children of each kind, measured on three to six uneven days over three months to a year,
the tape off by {tape:g} cm (SD) where nothing else stands, heights written to the millimetre. The
band holds where what the child really grew a year, from the first to the last of those days, lies
in it.

{rows}
"""
