"""What a prescription is: how much of an exercise, on which side, how slowly.

A dose is the work of one set. What it costs in time, repetitions and ground contacts is asked
here and nowhere else; how sets follow each other is `timeline`'s question.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final, NamedTuple

from library.tempo import Tempo
from program.engine.pace import JUNIOR_PACE, Pace
from program.engine.wording import plural


class Measure(StrEnum):
    """What the amount of a dose counts."""

    REPETITIONS = "repetitions"
    SECONDS = "seconds"
    METRES = "metres"

    @property
    def symbol(self) -> str:
        """What follows an amount where room is short: "s", "m", "" for repetitions."""
        return {Measure.SECONDS: "s", Measure.METRES: "m"}.get(self, "")

    def written(self, *amounts: int) -> str:
        """Amounts in short, with their unit once: "8", "20 s", "8 · 6 m"."""
        return f"{' · '.join(map(str, amounts))} {self.symbol}".rstrip()


class Side(StrEnum):
    """The side of the body that works, where only one does."""

    LEFT = "left"
    RIGHT = "right"


class Sides(StrEnum):
    """How a dose is shared between left and right.

    BOTH works them together. EACH gives the whole amount to one side, then to the other.
    ALTERNATING swaps after every repetition or step, and its amount is the total.
    """

    BOTH = "both"
    EACH = "each"
    ALTERNATING = "alternating"

    @property
    def bouts(self) -> tuple[Side | None, ...]:
        """The bouts of one set in order; None is a bout that belongs to no single side."""
        return (Side.LEFT, Side.RIGHT) if self is Sides.EACH else (None,)


class Limits(NamedTuple):
    """The smallest and the largest amount that one dose may ask for, both allowed."""

    low: int
    high: int


LIMITS: Final[Mapping[Measure, Limits]] = MappingProxyType(
    {
        Measure.REPETITIONS: Limits(1, 60),
        Measure.SECONDS: Limits(1, 600),
        Measure.METRES: Limits(1, 200),
    }
)
"""What is still one set: past these it is a slip of the keyboard. Not guidance for a child."""

MOST_ROUNDS: Final = 10
"""How often a part may be gone through: past it, the same slip. Not guidance either."""

DELOAD_SHARE: Final = 0.6
"""What a deload leaves of an amount, or of the most rounds. Common practice."""

DELOAD_IN_WORDS: Final = f"{DELOAD_SHARE * 100:.0f} %"


def validate_amount(measure: Measure, amount: int) -> None:
    """Raise ValueError, in words a coach can act on, unless the amount is within `LIMITS`."""
    low, high = LIMITS[measure]
    if not low <= amount <= high:
        raise ValueError(f"{amount} {measure} is out of range: choose {low} to {high}.")


@dataclass(frozen=True, slots=True)
class Dose:
    """The work of one set.

    `amount` counts `measure`: per side where `sides` is EACH, in total otherwise. `contacts` is
    how often a foot meets the ground in one repetition, second or metre: 0 for work that never
    leaves it. Raises ValueError for a dose nobody could do; see `validate`.
    """

    measure: Measure
    amount: int
    sides: Sides = Sides.BOTH
    tempo: Tempo | None = None
    contacts: float = 0.0

    def __post_init__(self) -> None:
        self.validate()

    def validate(self) -> None:
        """Raise ValueError, in words a coach can act on, unless the dose makes sense."""
        validate_amount(self.measure, self.amount)
        if self.tempo is not None and self.measure is not Measure.REPETITIONS:
            raise ValueError(f"A tempo times repetitions; a dose in {self.measure} has none.")
        if not 0 <= self.contacts < math.inf:
            raise ValueError(f"Ground contacts cannot be {self.contacts:g}: write 0 or more.")

    @property
    def total(self) -> int:
        """The amount of a whole set, both sides together."""
        return self.amount * len(self.sides.bouts)

    @property
    def repetitions(self) -> int:
        """Repetitions in a set, both sides together; 0 for holds, bouts and metres."""
        return self.total if self.measure is Measure.REPETITIONS else 0

    def repetitions_on(self, side: Side) -> int:
        """The repetitions of a set that one side does alone; 0 where both work together.

        Alternating starts on the left, which so gets the odd one.
        """
        match self.sides:
            case Sides.BOTH:
                return 0
            case Sides.EACH:
                return self.repetitions // 2
            case Sides.ALTERNATING:
                return (self.repetitions + (side is Side.LEFT)) // 2

    @property
    def hold_seconds(self) -> int:
        """Seconds held or kept going in a set, both sides together; 0 for other measures."""
        return self.total if self.measure is Measure.SECONDS else 0

    @property
    def metres(self) -> int:
        """Metres travelled in a set, both sides together; 0 for other measures."""
        return self.total if self.measure is Measure.METRES else 0

    @property
    def ground_contacts(self) -> float:
        """How often a foot meets the ground in a set, both sides together."""
        return self.total * self.contacts

    def seconds_per_unit(self, pace: Pace = JUNIOR_PACE) -> float:
        """How long one repetition, second or metre lasts, in seconds."""
        match self.measure:
            case Measure.SECONDS:
                return 1.0
            case Measure.METRES:
                return pace.seconds_per_metre
            case Measure.REPETITIONS if self.tempo:
                return self.tempo.seconds(pace.seconds_per_fast_phase)
            case Measure.REPETITIONS:
                return pace.seconds_per_repetition

    def seconds_per_bout(self, pace: Pace = JUNIOR_PACE) -> int:
        """One bout's work, which is one side's where `sides` is EACH; at least 1 second.

        Rounded up to a whole second, so that the last repetition is never cut off.
        """
        exact = self.amount * self.seconds_per_unit(pace)
        # 50 × 1.1 is a hair over 55 in binary: that hair is not worth a second.
        return max(1, math.ceil(round(exact, 6)))

    def work_seconds(self, pace: Pace = JUNIOR_PACE) -> int:
        """The work of a set in seconds, both sides together, without the change between them."""
        return self.seconds_per_bout(pace) * len(self.sides.bouts)

    def time_under_tension(self, pace: Pace = JUNIOR_PACE) -> float:
        """Seconds a set spends in repetitions, all phases of the tempo, both sides together.

        0 for other measures: holds and metres are counted as such, and nothing is counted twice.
        """
        return self.repetitions * self.seconds_per_unit(pace)


@dataclass(frozen=True, slots=True)
class DoseRange:
    """The amounts an exercise is used with, in its own measure: 1 <= low <= usual <= high.

    Raises ValueError for numbers out of order.
    """

    low: int
    usual: int
    high: int

    def __post_init__(self) -> None:
        if not 1 <= self.low <= self.usual <= self.high:
            raise ValueError(
                f"A range goes from low over usual to high, from 1 up; "
                f"{self.low}, {self.usual}, {self.high} does not."
            )

    def __contains__(self, amount: int) -> bool:
        return self.low <= amount <= self.high

    def outside(self, amount: int) -> str:
        """How an amount leaves the range, to be read after "is"; "" where it does not."""
        if amount in self:
            return ""
        way = "less" if amount < self.low else "more"
        return f"{way} than the {self.low} to {self.high} it is used with"

    def validate(self, measure: Measure) -> None:
        """Raise ValueError unless the measure's `LIMITS` allow the range up to its high end."""
        validate_amount(measure, self.high)

    def clamp(self, amount: int) -> int:
        """The amount of the range nearest to the one given."""
        return min(max(amount, self.low), self.high)


def in_words(dose: Dose) -> str:
    """The dose as a coach says it: "8 each side", "20 seconds", "10, swapping sides"."""
    match dose.sides:
        case Sides.EACH:
            return f"{_amount_in_words(dose)} each side"
        case Sides.ALTERNATING:
            return f"{_amount_in_words(dose)}, swapping sides"
        case Sides.BOTH if dose.measure is Measure.REPETITIONS:
            return "once" if dose.amount == 1 else f"{dose.amount} times"
        case Sides.BOTH:
            return _amount_in_words(dose)


def _amount_in_words(dose: Dose) -> str:
    match dose.measure:
        case Measure.REPETITIONS:
            return str(dose.amount)
        case Measure.SECONDS:
            return plural(dose.amount, "second")
        case Measure.METRES:
            return f"{dose.amount} m"
