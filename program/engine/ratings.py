"""What a row of effort ratings says about who rates. Pure."""

from collections.abc import Sequence
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
