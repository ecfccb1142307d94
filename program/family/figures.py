"""Which drawings and photos a session shows. Nothing here queries: sessions come `with_slots()`."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from library.figures.motion import held_from, repetition, repetitions_in_a_loop
from library.figures_of_revisions import Figure, figure_of, picture_of
from library.models import ExerciseRevision
from library.shared.uploads import Kind
from library.tempo import PHASES, Tempo
from program.common.session_plan import dose_of, easier_of
from program.engine.dose.dose import Dose, Measure, Sides
from program.engine.pace import JUNIOR_PACE
from program.models import AssignedSession

DOWN_AND_UP: Final = Tempo(2, 0, 1, 0)
"""How a repetition without a tempo is shared out: its pace is 2 s down and 1 s up."""


@dataclass(frozen=True)
class Shown:
    """The figure of an exercise as it is done at this dose."""

    figure: Figure
    dose: Dose

    @classmethod
    def of(cls, revision: ExerciseRevision, dose: Dose) -> "Shown | None":
        figure = figure_of(revision.exercise.slug, revision)
        return cls(figure, dose) if figure else None

    @property
    def left(self) -> str:
        """Where it moves at the dose's tempo, its left side working."""
        return self.figure.moving(tempo_of(self.dose))

    @property
    def right(self) -> str:
        """The same with the right side working; a loop that swaps sides by itself does already."""
        if self.dose.sides is Sides.BOTH or self._swaps:
            return self.left
        return self.figure.moving(tempo_of(self.dose), "right")

    @property
    def held_from(self) -> float | None:
        """The second from which it holds as long as the dose does; None where it moves on."""
        return held_from(self.figure.movement) if self.dose.measure is Measure.SECONDS else None

    @property
    def _swaps(self) -> bool:
        moves = self.figure.movement
        is_more = repetitions_in_a_loop(moves) > 1 or moves.mirror
        return self.dose.sides is Sides.ALTERNATING and is_more

    @property
    def addresses(self) -> set[str]:
        """All the drawings of it that a family's pages show."""
        return {self.left, self.right, self.figure.pair()}


def tempo_of(dose: Dose) -> str:
    """The tempo at which repetitions are drawn and counted; "" where none are counted."""
    return str(dose.tempo or DOWN_AND_UP) if dose.measure is Measure.REPETITIONS else ""


def beats(dose: Dose, shown: Shown | None) -> Sequence[tuple[str, float]]:
    """A repetition's phases and their seconds in the order in which the figure does them; those of
    no length are left out."""
    told = repetition(shown.figure.movement, tempo_of(dose)) if shown else []
    seconds = (dose.tempo or DOWN_AND_UP).durations(JUNIOR_PACE.seconds_per_fast_phase)
    written = zip(PHASES, seconds, strict=True)
    return told or [(name, lasts) for name, lasts in written if lasts]


def drawings_of(session: AssignedSession) -> Iterator[str]:
    """The addresses of all the drawings that a session's pages show, easier options' among them."""
    for slot in session.slots.all():
        yield from _addresses(slot.revision, dose_of(slot.revision, slot.prescription))
        if easier := easier_of(slot):
            yield from _addresses(*easier)


def photo_of(revision: ExerciseRevision) -> str:
    """Where the photo is that stands instead of a drawing; "" where there is none."""
    picture = picture_of(revision.exercise.slug, revision)
    return picture.address if picture and picture.kind is Kind.PHOTO else ""


def _addresses(revision: ExerciseRevision, dose: Dose) -> set[str]:
    shown = Shown.of(revision, dose)
    return shown.addresses if shown else {photo_of(revision)} - {""}
