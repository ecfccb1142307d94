"""Left against right, for work done one side at a time: how different, and is it more than noise?

Pure. The difference of one reading says nothing by itself, so a difference is only spoken of from
several readings that agree, and only where it is larger than the readings differ among themselves.
A reason to look, not a diagnosis.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import fmean, median
from typing import Final

LEAST_READINGS: Final = 4
"""Readings before there is anything to say: three repeats are the fewest with a spread worth the
name. Common practice."""

AGREE: Final = 0.75
"""The share of readings that must point to the same side. Common practice."""

WORTH_A_LOOK: Final = 15.0
"""Percent. An old threshold drawn from healthy people, weak evidence: Bishop et al. 2018, Strength
Cond J 40(4):1-6. A reason to look."""


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

    @property
    def percent(self) -> float | None:
        """100 * (right - left) / the larger: negative where the right did less. Without its sign
        the published side difference (Bishop et al. 2016, Strength Cond J 38(6)). None of 0 and 0.
        """
        most = max(self.left, self.right)
        return 100 * (self.right - self.left) / most if most else None


def typical_error(repeats: Sequence[float]) -> float | None:
    """How much one value differs from the next with nothing changed: the SD of the differences
    between neighbours over root two (Hopkins 2000, Sports Med 30:1-15; from memory). None from
    fewer than three values."""
    differences = [after - before for before, after in pairwise(repeats)]
    if len(differences) < 2:
        return None
    middle = fmean(differences)
    squares = math.fsum((each - middle) ** 2 for each in differences)
    return math.sqrt(squares / (len(differences) - 1) / 2)


@dataclass(frozen=True, slots=True)
class Balance:
    """One side against the other over several readings. `percent` is the median, never negative;
    `error` the typical error of one reading, in the same points."""

    percent: float
    error: float
    weaker: Weaker
    agreeing: int
    readings: tuple[Reading, ...]

    @property
    def is_beyond_noise(self) -> bool:
        return self.percent > self.error and self.agreeing >= AGREE * len(self.readings)

    @property
    def is_worth_a_look(self) -> bool:
        return self.is_beyond_noise and self.percent >= WORTH_A_LOOK


def balance(readings: Sequence[Reading]) -> Balance | None:
    """None from fewer than `LEAST_READINGS` that say anything, or where neither side is weaker."""
    told = [(reading, reading.percent) for reading in readings]
    signed = [(reading, percent) for reading, percent in told if percent is not None]
    if len(signed) < LEAST_READINGS:
        return None
    percents = [percent for _, percent in signed]
    middle, error = median(percents), typical_error(percents)
    if middle == 0 or error is None:
        return None
    return Balance(
        percent=abs(middle),
        error=error,
        weaker=Weaker.LEFT if middle > 0 else Weaker.RIGHT,
        agreeing=sum(1 for percent in percents if percent * middle > 0),
        readings=tuple(reading for reading, _ in signed),
    )
