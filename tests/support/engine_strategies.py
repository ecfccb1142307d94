"""Doses and tempos of every kind, for hypothesis."""

from hypothesis import strategies as st

from library.tempo import FAST, LONGEST_PHASE, Tempo
from program.engine.dose.dose import LIMITS, Dose, Measure, Sides

phases = st.integers(0, LONGEST_PHASE)
phases_or_fast = phases | st.just(FAST)
tempos = (
    st.tuples(phases_or_fast, phases, phases_or_fast, phases)
    .filter(any)
    .map(lambda phases: Tempo(*phases))
)


def doses_of(measure):
    return st.builds(
        Dose,
        measure=st.just(measure),
        amount=st.integers(*LIMITS[measure]),
        sides=st.sampled_from(Sides),
        tempo=st.none() | tempos if measure is Measure.REPETITIONS else st.none(),
        contacts=st.sampled_from([0.0, 0.5, 1.0, 2.0]),
    )


doses = st.sampled_from(Measure).flatmap(doses_of)
