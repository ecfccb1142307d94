"""What a coach means an exercise to do across a block's weeks: grow, stay, or come in waves.

Weeks are counted from 0 and only those in which the exercise stands: a week away moves nothing on.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from program.engine.dose.dose import DELOAD_SHARE, MOST_ROUNDS, Measure, validate_amount
from program.engine.weeks import MOST_WEEKS

DELOAD_WORD: Final = "deload"
LONGEST_WAVE: Final = 8


class ProgressionKind(StrEnum):
    """GROW adds to the amount; STAY keeps it until the child is ready for the next exercise; WAVE
    changes the rounds and keeps the amount."""

    GROW = "grow"
    STAY = "stay"
    WAVE = "wave"


@dataclass(frozen=True, slots=True)
class ProgressionRule:
    """Raises ValueError, in words a coach can act on, for one that makes no sense.

    `start` is the amount of the first week, in the exercise's measure. GROW adds `step` after every
    `every` weeks, up to `top`. The rounds of WAVE come again from the beginning; None is a deload.
    """

    kind: ProgressionKind
    start: int
    step: int = 0
    every: int = 1
    top: int = 0
    wave: tuple[int | None, ...] = ()

    def __post_init__(self) -> None:
        if self.kind is ProgressionKind.GROW:
            self._check_growth()
        if self.kind is ProgressionKind.WAVE:
            self._check_wave()

    def _check_growth(self) -> None:
        if self.step < 1:
            raise ValueError("Say how much is added: a whole number from 1 up.")
        if not 1 <= self.every <= MOST_WEEKS:
            raise ValueError(f"It grows every 1 to {MOST_WEEKS} weeks.")
        if self.top <= self.start:
            raise ValueError(f"It grows up to more than the {self.start} it starts with.")

    def _check_wave(self) -> None:
        rounds = [each for each in self.wave if each is not None]
        if not rounds or not 2 <= len(self.wave) <= LONGEST_WAVE:
            raise ValueError(
                f"A wave has 2 to {LONGEST_WAVE} weeks, one at least with rounds: 2-3-3-deload."
            )
        if not all(1 <= each <= MOST_ROUNDS for each in rounds):
            raise ValueError(f"A week of a wave has 1 to {MOST_ROUNDS} rounds.")

    def check_amounts(self, measure: Measure) -> None:
        """Raise ValueError where an amount is none that the measure allows."""
        validate_amount(measure, self.start)
        if self.kind is ProgressionKind.GROW:
            validate_amount(measure, self.top)

    def amount(self, week: int) -> int:
        if self.kind is not ProgressionKind.GROW:
            return self.start
        return min(self.start + self.step * (week // self.every), self.top)

    def rounds(self, week: int) -> int | None:
        """None where it leaves the rounds alone."""
        if self.kind is not ProgressionKind.WAVE:
            return None
        most = max(each for each in self.wave if each is not None)
        planned = self.wave[week % len(self.wave)]
        return max(1, round(most * DELOAD_SHARE)) if planned is None else planned

    def is_deload(self, week: int) -> bool:
        return self.kind is ProgressionKind.WAVE and self.wave[week % len(self.wave)] is None

    def __str__(self) -> str:
        match self.kind:
            case ProgressionKind.STAY:
                return f"stays at {self.start} until ready"
            case ProgressionKind.WAVE:
                return f"{self.start}, in waves of {wave_text(self.wave)} rounds"
            case ProgressionKind.GROW:
                when = "each week" if self.every == 1 else f"every {self.every} weeks"
                return f"{self.start}, {self.step} more {when}, up to {self.top}"


def read_wave(text: str) -> tuple[int | None, ...]:
    """The rounds of "2-3-3-deload". Raises ValueError for anything else."""
    weeks = [each.strip().lower() for each in text.replace("–", "-").split("-")]
    if not all(each == DELOAD_WORD or (each.isdecimal() and len(each) <= 2) for each in weeks):
        raise ValueError("Write the rounds of each week, such as 2-3-3-deload.")
    return tuple(None if each == DELOAD_WORD else int(each) for each in weeks)


def wave_text(wave: tuple[int | None, ...]) -> str:
    return "-".join(DELOAD_WORD if each is None else str(each) for each in wave)
