"""How one repetition is timed: lowering, pause, lifting, pause. Pure.

This is the one place that reads a tempo. What may be written down is also the regular expression
`TEMPO`, which the database holds every revision to; a test holds the two together.
"""

import re
from dataclasses import dataclass
from typing import Final, Literal

PHASE, MOVING = "([0-9]|10)", "([0-9]|10|X)"
TEMPO = f"^(?!0-0-0-0$){MOVING}-{PHASE}-{MOVING}-{PHASE}$"
"""A regular expression, as both Python and Postgres read it."""

IN_WORDS = (
    "A tempo is four numbers of seconds from 0 to 10, lowering-pause-lifting-pause, such as "
    "3-1-1-0. Lowering or lifting may be X for fast. Four zeros take no time."
)

FAST: Final = "X"
FAST_SECONDS: Final = 0.5
"""What an X takes: common practice for a brisk but controlled half of a repetition."""

type Phase = int | Literal["X"]

PHASES: Final = ("lowering", "pause", "lifting", "top")
"""The phases by name, in the order in which a tempo is written."""

LONGEST_PHASE: Final = 10
"""Seconds. A phase longer than this is a hold, and is written as one."""

_TEMPO = re.compile(r"(\d+|X)-(\d+)-(\d+|X)-(\d+)", re.ASCII)
_ANY_DASH = re.compile(r"\s*[-–—]\s*")


@dataclass(frozen=True, slots=True)
class Tempo:
    """Whole seconds for each phase of a repetition, 0 to `LONGEST_PHASE`.

    Lowering and lifting may be FAST instead of a number. Raises ValueError for a phase out of
    range or a repetition that would take no time.
    """

    lowering: Phase
    pause: int
    lifting: Phase
    top: int

    def __post_init__(self) -> None:
        for phase in self.phases:
            if phase != FAST and not 0 <= phase <= LONGEST_PHASE:
                raise ValueError(
                    f"Each part of a tempo is 0 to {LONGEST_PHASE} seconds, not {phase}."
                )
        if not any(self.phases):
            raise ValueError("A tempo of four zeros takes no time: make one part a second or X.")

    @classmethod
    def parse(cls, text: str) -> "Tempo":
        """Read "3-1-1-0". Raises ValueError in plain words for anything else."""
        match = _TEMPO.fullmatch(_tidied(text))
        if match is None:
            raise ValueError(
                f"“{text}” is not a tempo. Write four numbers of seconds: lowering, pause, "
                "lifting, pause, such as 3-1-1-0. Lowering or lifting may be X for fast."
            )
        lowering, pause, lifting, top = match.groups()
        return cls(_phase(lowering), int(pause), _phase(lifting), int(top))

    def __str__(self) -> str:
        return "-".join(str(phase) for phase in self.phases)

    @property
    def phases(self) -> tuple[Phase, int, Phase, int]:
        return self.lowering, self.pause, self.lifting, self.top

    def durations(self, fast: float = FAST_SECONDS) -> tuple[float, float, float, float]:
        """The seconds of each phase, in order; `fast` is what an X takes."""
        lowering, pause, lifting, top = (fast if each == FAST else each for each in self.phases)
        return lowering, pause, lifting, top

    def seconds(self, fast: float = FAST_SECONDS) -> float:
        """The length of one repetition in seconds, above 0."""
        return sum(self.durations(fast))


def _phase(text: str) -> Phase:
    return FAST if text == FAST else int(text)


def _tidied(text: str) -> str:
    """A tempo however it is typed, as it is written: with any dash, with spaces, with a small x."""
    return _ANY_DASH.sub("-", text.strip()).upper()
