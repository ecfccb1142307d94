"""Left against right, for work done one side at a time: how different, and is it more than noise?

Pure. A difference is spoken of from `LEAST_READINGS` readings, and only where it is larger than
the readings could make by chance although somebody looks after every session. What this finds and
what it cries out for nothing, of seasons whose truth is known: `program/docs/known-truth.md`.
A reason to look, not a diagnosis.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

LEAST_READINGS: Final = 8
"""Readings before there is anything to say. House rule: from fewer, how much a child varies is
hardly known, and most of what is then called uneven is chance."""

MOST_READINGS: Final = 16
"""The last readings that are compared: a season. House rule."""

LINE: Final = 2.65
"""Standard errors from nothing at which a difference is more than noise. A line that stays where it
is while one looks after each session is Pocock's (1977, Biometrika 64:191-199; from memory: 2.5 to
2.6 for nine looks at a known noise, so that 5 of 100 equal children cross it). House rule: a little
higher, because the noise is estimated from the same readings."""

GRAIN: Final = 1.0
"""The least SD of one side, in what is counted: nobody's repetitions or seconds are surer than one
either way, however alike they are written down. House rule."""

WORTH_A_LOOK: Final = 15.0
"""Percent. An old threshold drawn from healthy people, weak evidence: Bishop et al. 2018, Strength
Cond J 40(4):1-6. A reason to look. It is the difference that was seen which is held against it; the
child's own may be smaller or larger by `Balance.margin`."""


class Weaker(StrEnum):
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Reading:
    """What each side managed of the same exercise on one day; `log` names where it was told."""

    left: float
    right: float
    log: int = 0

    def __post_init__(self) -> None:
        if self.left < 0 or self.right < 0:
            raise ValueError("A side cannot do less than nothing.")


@dataclass(frozen=True, slots=True)
class Balance:
    """One side against the other over several readings. `left` and `right` are what each did in
    all; `percent` is how much less the weaker did, never negative; `margin`, in the same points, is
    how far off that may be by chance: `LINE` standard errors."""

    left: float
    right: float
    percent: float
    margin: float
    weaker: Weaker
    readings: tuple[Reading, ...]

    @property
    def is_beyond_noise(self) -> bool:
        return self.percent > self.margin

    @property
    def is_worth_a_look(self) -> bool:
        return self.is_beyond_noise and self.percent >= WORTH_A_LOOK


def balance(readings: Sequence[Reading]) -> Balance | None:
    """Compare what each side did in all of the last `MOST_READINGS` readings, oldest first.

    The difference is 100 * (max - min) / max of the two sums: the published one (Bishop et al.
    2016, Strength Cond J 38(6)) of many readings instead of one. Its noise is that of both sides
    around their own means, taken as independent: where they rise and fall together, or drift apart,
    that is more than the truth, so that a difference is rather missed than made up. None from fewer
    than `LEAST_READINGS` in which either side did something, or where neither side is weaker.
    """
    told = tuple(each for each in readings if each.left or each.right)[-MOST_READINGS:]
    if len(told) < LEAST_READINGS:
        return None
    lefts, rights = [each.left for each in told], [each.right for each in told]
    left, right = math.fsum(lefts), math.fsum(rights)
    if math.isclose(left, right):
        return None
    error = math.sqrt((_variance(lefts) + _variance(rights)) * len(told))
    return Balance(
        left=left,
        right=right,
        percent=100 * abs(left - right) / max(left, right),
        margin=100 * LINE * error / max(left, right),
        weaker=Weaker.LEFT if left < right else Weaker.RIGHT,
        readings=told,
    )


def _variance(amounts: Sequence[float]) -> float:
    middle = math.fsum(amounts) / len(amounts)
    squares = math.fsum((each - middle) ** 2 for each in amounts)
    return max(GRAIN**2, squares / (len(amounts) - 1))
