"""What a row of effort ratings says about who rates. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from statistics import fmean
from typing import Final

EQUAL: Final = 8
"""Ratings in a row that are the same before it is said that they never vary. House rule: of
children whose honest ratings wander by 0.8 points (SD), 2 of 100 rate eight alike somewhere in a
season of 24 sessions, and 10 of 100 six alike."""


def have_varied(ratings: Sequence[float]) -> bool:
    """Whether two of the last `EQUAL` ratings, oldest first, differ: only then does a low one say
    that something was easy."""
    return len(set(ratings[-EQUAL:])) > 1


def never_varies(ratings: Sequence[float]) -> bool:
    """Whether the last `EQUAL` ratings, oldest first, are all the same ("always 1"): then they say
    nothing of how hard the sessions were. False for fewer than that."""
    return len(ratings) >= EQUAL and not have_varied(ratings)


def alike_at_the_end(ratings: Sequence[float]) -> int:
    """How many of the last ratings, oldest first, are the same."""
    return sum(1 for _ in takewhile(lambda rating: rating == ratings[-1], reversed(ratings)))


HIGH: Final = 8
"""Effort of 10 from which a day was very hard: on the scale for whole sessions (Foster et al. 2001,
J Strength Cond Res 15:109-115, its words from memory) 7 is very hard and 10 the most there is."""

DAYS_HIGH: Final = 6
"""Days in a row. House rule: of children who rate 7 on average, wandering by 1 point (SD), 3 of 100
have six such days in a row somewhere in 48, of those who rate 6 none; of those who rate 8 seven of
eight, and of those who rate 8.5 all, as they should (`test_effort_over_time.py`)."""


def stays_high(ratings: Sequence[float]) -> bool:
    """Whether the last `DAYS_HIGH` ratings, one a day and oldest first, are all `HIGH` or more."""
    last = ratings[-DAYS_HIGH:]
    return len(last) == DAYS_HIGH and min(last) >= HIGH


DAYS_COMPARED: Final = 4
"""Days at either end whose ratings are averaged: one odd day moves such a mean by a quarter."""

LEAST_FOR_A_CLIMB: Final = 10
"""Days before anything can be called a climb: two between the ends. House rule."""

CLIMBS_BY: Final = 2.5
"""Points of effort. House rule: of unchanged children who wander by 1 point (SD) 2 of 100 are
called out somewhere in 48 days; a climb from 3 to 9 in 18 days is always seen, one from 3 to 6 in
24 days in two of three (`test_effort_over_time.py`). At 2 points 12 to 15 of 100 were called out
for nothing."""


@dataclass(frozen=True, slots=True)
class Climb:
    """The mean effort of the first days that were looked at, and of the last."""

    before: float
    now: float


def climb_of(ratings: Sequence[float]) -> Climb | None:
    """The climb from the first to the last of these ratings, one a day and oldest first; None where
    it is none, or where there are too few."""
    if len(ratings) < LEAST_FOR_A_CLIMB:
        return None
    climb = Climb(fmean(ratings[:DAYS_COMPARED]), fmean(ratings[-DAYS_COMPARED:]))
    return climb if climb.now - climb.before >= CLIMBS_BY else None
