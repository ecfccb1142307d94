"""What sessions cost a child: effort times minutes, and what is usual for this child. Pure.

Limits of the method: the numbers are ratings by families, so they compare a child with itself and
with nobody else; a week with a session nobody logged has no load, rather than a low one; and no
line is drawn that would hold for every child.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import mean, median, stdev
from typing import Final

WEEK: Final = 7

LEAST_DAYS_OF_WORK: Final = 3
"""Days with work below which a week's monotony says nothing. Common practice."""

LEAST_EARLIER: Final = 5
"""Values before there is a "usual" to compare with. Common practice."""

SD_OF_MAD: Final = 1.4826
"""The median absolute deviation of normally distributed values times this is their SD."""

FAR: Final = 2.5
"""SDs above the median that are far from usual: about 1 of 160 sessions of an unchanged child."""

LEAST_EFFORT_JUMP: Final = 3.0
"""Points of effort. Whole numbers are rated and a point either way is the rating's own grain; at
two points a third of all children would be called out once in eight weeks for nothing."""


def session_load(effort: int, minutes: int) -> int:
    """Effort (0 to 10) times minutes (1 to 240), in arbitrary units: Foster et al. 2001, J Strength
    Cond Res 15:109-115. Raises ValueError outside those."""
    if not 0 <= effort <= 10:
        raise ValueError(f"Effort runs from 0 to 10, not {effort}.")
    if not 1 <= minutes <= 240:
        raise ValueError(f"A session lasts between 1 and 240 minutes, not {minutes}.")
    return effort * minutes


type Daily = Sequence[float | None]
"""Loads day by day: 0 on a day of rest, None where there was a session nobody told enough of."""


def week_load(days: Daily) -> float | None:
    """The sum of seven days; None where one of them is not known."""
    known = _known(days)
    return None if known is None else sum(known)


def monotony(days: Daily) -> float | None:
    """Mean daily load over its SD, days of rest counting as 0: Foster 1998, Med Sci Sports Exerc
    30:1164-1168. None from too few days, or where every day is the same (never infinity)."""
    known = _known(days)
    if known is None or sum(1 for load in known if load > 0) < LEAST_DAYS_OF_WORK:
        return None
    spread = stdev(known)
    if math.isclose(spread, 0.0, abs_tol=1e-9):
        return None
    return mean(known) / spread


def strain(days: Daily) -> float | None:
    """The week's load times its monotony (Foster 1998); None where either is."""
    load, evenness = week_load(days), monotony(days)
    return None if load is None or evenness is None else load * evenness


def _known(days: Daily) -> list[float] | None:
    if len(days) != WEEK:
        raise ValueError(f"A week has {WEEK} days, not {len(days)}.")
    known = [load for load in days if load is not None]
    return known if len(known) == WEEK else None


SPAN: Final = 4
"""Weeks over which loads are smoothed: about a month. Common practice."""


def smoothed(values: Daily, span: int = SPAN) -> list[float | None]:
    """Exponentially weighted means up to each value, the newest weighing most: a value one place
    older weighs 1 - 2 / (span + 1) of the next, and one that is not known weighs nothing.

    None where a value is not known: what is missing is not filled in.
    """
    keeps = 1 - 2 / (span + 1)
    total = weight = 0.0
    means: list[float | None] = []
    for value in values:
        total, weight = total * keeps, weight * keeps
        if value is not None:
            total, weight = total + value, weight + 1
        means.append(None if value is None else total / weight)
    return means


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual for one child: the median, and the SD that the median absolute deviation
    stands for. Neither is moved by the one odd day they are meant to show."""

    median: float
    spread: float
    of: int

    def far_above(self, least: float) -> float:
        """From here on a value is far above usual; `least` is how far it must be at any rate."""
        return self.median + max(least, FAR * self.spread)


def usual(values: Sequence[float]) -> Usual | None:
    """None from fewer than `LEAST_EARLIER` values."""
    if len(values) < LEAST_EARLIER:
        return None
    middle = median(values)
    deviation = median(abs(value - middle) for value in values)
    return Usual(middle, SD_OF_MAD * deviation, len(values))


_usual = lru_cache(maxsize=1024)(usual)


def is_far_above(effort: float, earlier: Sequence[float]) -> bool:
    """Whether an effort is far above what this child rated before; False while nothing is usual."""
    before = _usual(tuple(earlier))
    return before is not None and effort >= before.far_above(LEAST_EFFORT_JUMP)
