"""What coaches answered, a line for each press, with the way back."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from athletes.models import Child
from program.engine.wording import listed
from program.models import Resolution
from program.models.resolutions import TOGETHER


@dataclass(frozen=True)
class Press:
    """One answer, or those that were given together."""

    answers: tuple[Resolution, ...]

    @property
    def first(self) -> Resolution:
        return self.answers[0]

    @property
    def keys(self) -> set[int]:
        return {each.pk for each in self.answers}

    @property
    def children(self) -> list[Child]:
        return [each.child for each in self.answers]

    @property
    def names(self) -> str:
        return listed(map(str, self.children))

    @property
    def standing(self) -> Resolution | None:
        """One of those that can be taken back; the others given with it go along."""
        return next((each for each in self.answers if each.undone_at is None), None)

    @property
    def undone(self) -> Resolution | None:
        return next((each for each in self.answers if each.undone_at is not None), None)


def presses(answers: Iterable[Resolution]) -> list[Press]:
    """In their order; those given together stand together there."""
    return [Press(tuple(those)) for _, those in groupby(answers, key=_press)]


def _press(answer: Resolution) -> object:
    return answer.before.get(TOGETHER) or answer.pk
