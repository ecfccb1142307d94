"""One exercise in another's place in what is written: the dose goes along, as far as it may."""

from dataclasses import replace

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
        dose = transfer(old.dose_of(slot.prescription), new)
    asked = replace(slot.prescription.with_dose(dose), note="")
    return replace(slot, exercise=new.slug, prescription=asked)
