"""What a substitute asks of a child that the written exercise does not.

A house rule: more ground contacts at all, or at least twice the time, in all rounds of the slot; or
a grown-up beside the child where the written exercise wants none.
"""

from dataclasses import dataclass
from typing import Final

from program.engine.dose.dose import Dose
from program.engine.fit.library import FitExercise
from program.engine.pace import JUNIOR_PACE
from program.engine.wording import clock

TWICE: Final = 2


@dataclass(frozen=True, slots=True)
class Demand:
    """What an exercise asks in one slot, all rounds together: ground contacts, the seconds of work
    and of changing sides, and whether a grown-up has to watch."""

    contacts: float
    seconds: int
    is_watched: bool

    @classmethod
    def of(cls, exercise: FitExercise, dose: Dose, rounds: int) -> "Demand":
        changes = (len(dose.sides.bouts) - 1) * JUNIOR_PACE.change_side
        return cls(
            # Without the hair that binary fractions add.
            round(dose.ground_contacts * rounds, 6),
            (dose.work_seconds() + changes) * rounds,
            exercise.is_watched,
        )


@dataclass(frozen=True, slots=True)
class AsksMore:
    """What is `given` in a slot, against what is `written` there."""

    written: Demand
    given: Demand

    @classmethod
    def between(
        cls, written: FitExercise, asked: Dose, given: FitExercise, dose: Dose, rounds: int
    ) -> "AsksMore":
        return cls(Demand.of(written, asked, rounds), Demand.of(given, dose, rounds))

    @property
    def lands_more(self) -> bool:
        return self.given.contacts > self.written.contacts

    @property
    def takes_twice(self) -> bool:
        return self.given.seconds >= TWICE * self.written.seconds

    @property
    def wants_a_grown_up(self) -> bool:
        return self.given.is_watched and not self.written.is_watched

    @property
    def is_any(self) -> bool:
        return self.lands_more or self.takes_twice or self.wants_a_grown_up

    def in_words(self, *, is_alone: bool) -> tuple[str, ...]:
        """For the coach; of a grown-up only where the child `is_alone` with it."""
        contacts = f"{round(self.given.contacts)} ground contacts"
        said = (
            (self.lands_more, f"{contacts} instead of {round(self.written.contacts)}"),
            (
                self.takes_twice,
                f"takes {clock(self.given.seconds)} instead of {clock(self.written.seconds)}",
            ),
            (self.wants_a_grown_up and is_alone, "a grown-up has to watch"),
        )
        return tuple(words for is_so, words in said if is_so)
