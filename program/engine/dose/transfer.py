"""The dose that goes along when one exercise takes another's place.

The coach asked for an amount of work. What the child gets instead keeps that amount as far as the
new exercise allows. The rules, and their reasons:

- *The same measure keeps its number.* Eight squats become eight step-downs: the number is what
  the coach thought about, and what the child has heard before.
- *Between measures, the time of the work stays.* Eight repetitions of five seconds are forty
  seconds of holding; forty seconds at two and a half a metre are sixteen metres. For repetitions
  that time is the time under tension, by the tempo.
- *Between "each side" and "swapping sides", the total stays.* Eight on each side are sixteen
  swapping sides, because the first amount counts one side and the second counts both. Work of
  both sides together is work of either, so there the number stays.
- *It stays inside the new exercise's own range*, whose ends are the least that makes sense and the
  most for a child. Where the two disagree, the range is right.
- *It never rounds up.* A fraction of a repetition is dropped: moving to another exercise is no
  reason for more work.
- *Tempo and ground contacts are the new exercise's.* Rounds belong to the part and are kept there.

That the time of the work is what two exercises have in common is common practice, not a law.
"""

import math

from program.engine.dose.dose import Dose, Sides
from program.engine.fit.library import FitExercise
from program.engine.pace import JUNIOR_PACE, Pace


def transfer(dose: Dose, to: FitExercise, pace: Pace = JUNIOR_PACE) -> Dose:
    """The dose of another exercise for the same amount of work: one round, inside its range."""
    exact = dose.amount * _sides_factor(dose.sides, to.sides)
    if dose.measure is not to.measure:
        usual = to.dose(to.amounts.usual)
        exact *= dose.seconds_per_unit(pace) / usual.seconds_per_unit(pace)
    # 45 × (3.5 ÷ 2.5) is a hair under 63 in binary: that hair is not worth a metre.
    return to.dose(to.amounts.clamp(math.floor(round(exact, 6))))


def _sides_factor(written: Sides, given: Sides) -> float:
    match written, given:
        case Sides.EACH, Sides.ALTERNATING:
            return 2
        case Sides.ALTERNATING, Sides.EACH:
            return 1 / 2
        case _:
            return 1
