import pytest

from library.tempo import Tempo
from program.engine.dose.dose import Dose, Measure
from program.engine.prescription import Prescription

WRITTEN = Prescription(8, "3-1-1-0", rest_seconds=20, note="Slowly.")


@pytest.mark.parametrize(
    ("dose", "amount", "tempo"),
    [
        (Dose(Measure.REPETITIONS, 6, tempo=Tempo(2, 0, 1, 0)), 6, "2-0-1-0"),
        (Dose(Measure.SECONDS, 40), 40, ""),
    ],
)
def test_another_dose_keeps_the_breather_and_the_word_to_the_family(dose, amount, tempo):
    asked = Prescription(amount, tempo, rest_seconds=20, note="Slowly.")
    assert WRITTEN.with_dose(dose) == asked
