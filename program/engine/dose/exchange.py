"""One exercise in another's place in what is written: the dose goes along, as far as it may."""

from library.tempo import Tempo
from program.engine.dose.transfer import transfer
from program.engine.fit.library import FitExercise
from program.engine.outline import SlotOutline


def exchanged(slot: SlotOutline, old: FitExercise | None, new: FitExercise) -> SlotOutline:
    """The slot with the new exercise. Without the old one to compare with, its usual amount.

    A note to the family was about the exercise before it, and goes. Raises ValueError, in words a
    coach can act on, for a dose of the old exercise that is none.
    """
    if old is None:
        dose = new.dose(new.amounts.usual)
    else:
        dose = transfer(old.dose(slot.amount, Tempo.parse(slot.tempo) if slot.tempo else None), new)
    return SlotOutline(
        exercise=new.slug,
        amount=dose.amount,
        tempo=str(dose.tempo) if dose.tempo else "",
        rest_seconds=slot.rest_seconds,
        rule=slot.rule,
        max_steps_up=slot.max_steps_up,
    )
