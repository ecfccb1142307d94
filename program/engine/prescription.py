"""What a slot asks for beside its exercise, whole from where it is written to the family's log."""

from dataclasses import dataclass, fields, replace
from typing import Final, Self

from library.tempo import Tempo
from program.engine.dose.dose import Dose


@dataclass(frozen=True, slots=True)
class Prescription:
    """How much of an exercise, how slowly, which breather after it, and a word to the family.

    `amount` is in the exercise's own measure, for one round. A `tempo` of "" leaves it to the
    exercise, a rest of None to the pace. Its fields are columns of `Slot` and `AssignedSlot` by the
    same names. One that is new has a usual value: templates kept before do not hold it.
    """

    amount: int
    tempo: str = ""
    rest_seconds: int | None = None
    note: str = ""

    @classmethod
    def of(cls, row: object) -> Self:
        """Of whatever has these fields: a slot, an assigned slot, a row of their columns."""
        return cls(*(getattr(row, name) for name in PRESCRIBED))

    @property
    def parsed_tempo(self) -> Tempo | None:
        return Tempo.parse(self.tempo) if self.tempo else None

    def with_dose(self, dose: Dose) -> Self:
        """The same with another amount and tempo."""
        return replace(self, amount=dose.amount, tempo=str(dose.tempo) if dose.tempo else "")


PRESCRIBED: Final = tuple(field.name for field in fields(Prescription))
