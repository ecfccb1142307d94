"""How fast a child grows, and about where in the growth spurt it stands. Pure.

Everything here is a band, never a gate: a tape at a club is off by half a centimetre, and the
published equations drift toward the mean (late for those who mature early, early for those who
mature late: Moore et al. 2015). Nothing here says anything about weight or appearance.
"""

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate, combinations
from statistics import mean
from typing import Final

YEAR: Final = 365.25  # days

TALL: Final = (70.0, 230.0)
SITTING: Final = (35.0, 125.0)
MASS: Final = (8.0, 200.0)
"""cm, cm and kg: past these it is a slip of the keyboard. Not guidance for a child."""

SITTING_SHARE: Final = (0.42, 0.62)
"""Sitting height over height. Common practice: juniors lie near 0.50 to 0.55."""

SHRINKS_AT_MOST: Final = 2.0
"""cm. From the morning to the evening a child loses about one; more is a slip of the tape."""

APART_AT_MOST: Final = 2.0
"""cm between two readings of one day; more is a slip of the tape. House rule."""

HEIGHT_ERROR: Final = 0.5
"""cm, the standard deviation of one reading where the program has not shown its own. Experienced
measurers repeat a height within 0.2 to 0.3 cm (Voss et al. 1990, Arch Dis Child 65:1340-1344,
abstract); a tape on a club's wall is given more: house rule."""

LEAST_REPEATS: Final = 10
"""Repeats before the program's own error is believed. House rule: from fewer it is off by more than
a quarter."""

CONFIDENCE: Final = 1.96
"""Standard errors either side of a velocity, for a band that holds in 95 of 100 cases."""

LEAST_ERROR: Final = 0.3
"""cm: no tape is believed to be surer than experienced measurers are, since a child also loses
height from morning to evening, which two readings in a row do not show. House rule."""

SHORTEST: Final = dt.timedelta(days=90)
LONGEST: Final = dt.timedelta(days=366)
"""Over how long a velocity is read: below three months the tape's error is larger than growth, and
past a year a spurt is averaged away."""

USUAL_PACE: Final = 6.0
"""cm a year, about the most a child grows between early childhood and the spurt. Common practice.
The spurt's peak is 9.5 (boys) and 8.3 (girls) cm a year: Abbassi 1998, Pediatrics 102:507-511."""


class Sex(StrEnum):
    FEMALE = "female"
    MALE = "male"


class Impossible(ValueError):
    """What no child measures, in plain words; `what` names the number that is wrong."""

    def __init__(self, what: str, message: str) -> None:
        super().__init__(message)
        self.what = what


@dataclass(frozen=True, slots=True)
class Measurement:
    """What a tape said on a day: cm, and kg where asked; `again`, the height where it was read a
    second time. Raises Impossible for what no child measures."""

    on: dt.date
    height: float
    sitting: float | None = None
    mass: float | None = None
    again: float | None = None

    def __post_init__(self) -> None:
        _within("height", self.height, TALL)
        if self.again is not None:
            _refuse_apart(self.height, self.again)
        if self.sitting is not None:
            _refuse_sitting(self.sitting, self.height)
        if self.mass is not None:
            _within("mass", self.mass, MASS)

    @property
    def readings(self) -> tuple[float, ...]:
        return (self.height,) if self.again is None else (self.height, self.again)

    @property
    def middle(self) -> float:
        """The height, and the middle of two readings where there are two."""
        return mean(self.readings)


_NAMED: Final = {
    "height": ("A height", "cm"),
    "sitting": ("A sitting height", "cm"),
    "mass": ("A mass", "kg"),
}


def _within(what: str, value: float, limits: tuple[float, float]) -> None:
    low, high = limits
    if not low <= value <= high:
        name, unit = _NAMED[what]
        raise Impossible(
            what, f"{name} lies between {low:g} and {high:g} {unit}, not at {value:g}."
        )


def _refuse_apart(height: float, again: float) -> None:
    _within("height", again, TALL)
    apart = round(abs(height - again), 1)
    if apart > APART_AT_MOST:
        raise Impossible("again", f"The two readings lie {apart:.1f} cm apart. Measure again.")


def _refuse_sitting(sitting: float, height: float) -> None:
    if sitting >= height:
        raise Impossible(
            "sitting", f"Nobody sits taller ({sitting:g} cm) than they stand ({height:g} cm)."
        )
    _within("sitting", sitting, SITTING)
    low, high = SITTING_SHARE
    if not low <= sitting / height <= high:
        raise Impossible(
            "sitting",
            f"Sitting {sitting:g} cm of {height:g} cm does not fit together: sitting height is "
            "measured from the seat, not from the floor.",
        )


def check_follows(
    new: Measurement, earlier: Iterable[Measurement], born: dt.date, today: dt.date
) -> None:
    """Raise Impossible where a measurement cannot be true of the child, or beside the others."""
    if new.on < born:
        raise Impossible("on", f"This is before the birth, on {born:%d %B %Y}.")
    if new.on > today:
        raise Impossible("on", "This day has not come yet.")
    for other in earlier:
        first, second = sorted((other, new), key=lambda each: each.on)
        shrunk = first.height - second.height
        if shrunk > SHRINKS_AT_MOST:
            raise Impossible(
                "height",
                f"That would be {shrunk:g} cm shorter than on {first.on:%d %B %Y}. Measure again.",
            )


@dataclass(frozen=True, slots=True)
class TapeError:
    """The standard deviation of one reading, in cm, and the repeats it comes from; none where it is
    taken to be `HEIGHT_ERROR`."""

    cm: float = HEIGHT_ERROR
    repeats: int = 0

    @property
    def in_words(self) -> str:
        if not self.repeats:
            return (
                f"One reading is taken to be off by {self.cm:g} cm, since fewer than "
                f"{LEAST_REPEATS} heights here were read twice."
            )
        return (
            f"One reading is taken to be off by {self.cm:.1f} cm, going by {self.repeats} heights "
            "here that were read twice."
        )

    @property
    def confidence(self) -> float:
        """Student's t for 95 of 100 at as many degrees of freedom as there were repeats, by its
        expansion from the normal one (Abramowitz & Stegun 26.7.5, from memory): within 0.003 of it
        from `LEAST_REPEATS` on."""
        if not self.repeats:
            return CONFIDENCE
        z, of = CONFIDENCE, self.repeats
        first = (z**3 + z) / 4
        second = (5 * z**5 + 16 * z**3 + 3 * z) / 96
        return z + first / of + second / of**2


def tape_error(squares: float, repeats: int) -> TapeError:
    """From the sum of the `squares` of how far two readings of one child on one day differ, in cm,
    over so many `repeats`: the technical error of measurement, the root of that sum over twice
    their number (Ulijaszek and Kerr 1999, Br J Nutr 82:165-177). `HEIGHT_ERROR` from fewer than
    `LEAST_REPEATS`."""
    if repeats < LEAST_REPEATS:
        return TapeError()
    return TapeError(max(LEAST_ERROR, math.sqrt(squares / (2 * repeats))), repeats)


@dataclass(frozen=True, slots=True)
class Velocity:
    """Centimetres a year, with the band the tape's error leaves, over the measurements it rests
    on: `low` to `high` holds in about 95 of 100 cases."""

    cm_a_year: float
    plus_minus: float
    rests_on: tuple[Measurement, ...]

    @property
    def low(self) -> float:
        return self.cm_a_year - self.plus_minus

    @property
    def high(self) -> float:
        return self.cm_a_year + self.plus_minus

    @property
    def is_a_spurt(self) -> bool:
        """Faster than children grow before the spurt, even at the band's lower end."""
        return self.low > USUAL_PACE


def velocity(
    measurements: Iterable[Measurement], error: TapeError | None = None
) -> Velocity | None:
    """How fast a child grows, from the measurements of the year up to the last one.

    Of two readings of a day the middle counts. The slope is the weighted median of the slopes
    between all pairs of days, so that a bad day between the first and the last moves it little. Its
    band is the one that these two alone would leave, whatever was read between them: with three
    days the slope is theirs, and with more the band is on the careful side, also where the pace
    changes on the way (`program/docs/known-truth.md`). None below two days three months apart.
    """
    error = error or TapeError()
    ordered = sorted(measurements, key=lambda each: each.on)
    recent = [each for each in ordered if ordered[-1].on - each.on <= LONGEST]
    if not recent or recent[-1].on - recent[0].on < SHORTEST:
        return None
    first, last = recent[0], recent[-1]
    years = [(each.on - first.on).days / YEAR for each in recent]
    slope = median_slope(years, [each.middle for each in recent])
    ends = math.sqrt(1 / len(first.readings) + 1 / len(last.readings))
    return Velocity(slope, error.confidence * error.cm * ends / years[-1], tuple(recent))


def median_slope(xs: Sequence[float], ys: Sequence[float]) -> float:
    """The median of the slopes between all pairs of points, each weighing as much as its points lie
    apart in x: Theil and Sen's median, weighted as by Jaeckel (1972, Ann Math Stat 43:1449-1458,
    from memory), without which two readings of one week say as much as two a year apart.

    Raises ValueError where all x are the same.
    """
    pairs = combinations(zip(xs, ys, strict=True), 2)
    slopes = sorted(
        ((y2 - y1) / (x2 - x1), abs(x2 - x1)) for (x1, y1), (x2, y2) in pairs if x1 != x2
    )
    if not slopes:
        raise ValueError("A slope needs two moments.")
    return (_weighted_median(slopes) + _weighted_median(slopes[::-1])) / 2


def _weighted_median(weighted: Sequence[tuple[float, float]]) -> float:
    """The first value, in this order, with which half of all weight has come."""
    half = math.fsum(weight for _, weight in weighted) / 2
    come = accumulate(weight for _, weight in weighted)
    reached = (value for (value, _), so_far in zip(weighted, come, strict=True) if so_far >= half)
    return next(reached, weighted[-1][0])


@dataclass(frozen=True, slots=True)
class MaturityOffset:
    """Years from the peak of the growth spurt, negative before it, with the published standard
    error of estimate either side: two of three children lie in that band."""

    years: float
    error: float
    source: str

    @property
    def low(self) -> float:
        return self.years - self.error

    @property
    def high(self) -> float:
        return self.years + self.error


MIRWALD: Final = "Mirwald et al. 2002, Med Sci Sports Exerc 34:689-694"
MOORE: Final = "Moore et al. 2015, Med Sci Sports Exerc 47:1755-1764"

AGES: Final = {MIRWALD: (8.0, 16.0), MOORE: (7.5, 17.5)}
"""Years: the children that the equations were made from, "Canadian children aged 8-16 yr" (Mirwald
et al. 2002, abstract) and "7.5-17.5 yr" (Moore et al. 2015, abstract); the second holds the first.
Outside them nothing is told."""

MIRWALD_ERROR: Final = {Sex.MALE: 0.59, Sex.FEMALE: 0.57}
"""Years, standard error of estimate, from the same paper as the equations."""

MOORE_ERROR: Final = {Sex.MALE: 0.542, Sex.FEMALE: 0.528}
"""Years, for the equations without sitting height. From memory; the paper's abstract gives 0.52 for
girls. Outside the sample they were made from, errors were 0.65 to 0.89 years (same abstract)."""

MOORE_SITTING_ERROR: Final = 0.514
"""Years, boys with sitting height. The abstract gives 0.51."""


def maturity_offset(sex: Sex, age: float, measured: Measurement) -> MaturityOffset | None:
    """By the equation that uses most of what was measured, of those made from children of this age;
    `age` in decimal years. None where there is no such equation."""
    height, sitting, mass = measured.middle, measured.sitting, measured.mass
    if not _covers(MOORE, age):
        return None
    if sitting is not None and mass is not None and _covers(MIRWALD, age):
        years = _mirwald(sex, age, height, sitting, mass)
        return MaturityOffset(years, MIRWALD_ERROR[sex], MIRWALD)
    if sitting is not None and sex is Sex.MALE:
        years = -8.128741 + 0.0070346 * age * sitting
        return MaturityOffset(years, MOORE_SITTING_ERROR, MOORE)
    return MaturityOffset(_moore(sex, age, height), MOORE_ERROR[sex], MOORE)


def _covers(source: str, age: float) -> bool:
    youngest, oldest = AGES[source]
    return youngest <= age <= oldest


def _mirwald(sex: Sex, age: float, height: float, sitting: float, mass: float) -> float:
    """The mass over height is in percent: reprints that drop the "times 100" are wrong."""
    leg = height - sitting
    if sex is Sex.MALE:
        return (
            -9.236
            + 0.0002708 * leg * sitting
            - 0.001663 * age * leg
            + 0.007216 * age * sitting
            + 0.02292 * mass / height * 100
        )
    return (
        -9.376
        + 0.0001882 * leg * sitting
        + 0.0022 * age * leg
        + 0.005841 * age * sitting
        - 0.002658 * age * mass
        + 0.07693 * mass / height * 100
    )


def _moore(sex: Sex, age: float, height: float) -> float:
    if sex is Sex.MALE:
        return -7.999994 + 0.0036124 * age * height
    return -7.709133 + 0.0042232 * age * height
