"""The dose that goes along to another exercise, added up by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.tempo import FAST, Tempo
from program.engine.dose.dose import Dose, Measure, Sides
from program.engine.dose.transfer import transfer
from program.engine.pace import Pace
from tests.support.engine_fitting import exercise, exercises
from tests.support.engine_strategies import doses

SLOW = Tempo(3, 1, 1, 0)  # 5 seconds
REPETITIONS, SECONDS, METRES = Measure.REPETITIONS, Measure.SECONDS, Measure.METRES
BOTH, EACH, ALTERNATING = Sides.BOTH, Sides.EACH, Sides.ALTERNATING


def wide(**facts):
    """An exercise whose range stands in nobody's way."""
    return exercise("target", low=1, usual=8, high=60, **facts)


class TestSameMeasure:
    def test_the_number_stays(self):
        assert transfer(Dose(REPETITIONS, 8), wide()).amount == 8
        assert transfer(Dose(SECONDS, 20), wide(measure=SECONDS)).amount == 20
        assert transfer(Dose(METRES, 12), wide(measure=METRES)).amount == 12

    def test_a_slower_tempo_does_not_change_the_number(self):
        assert transfer(Dose(REPETITIONS, 8, tempo=Tempo(1, 0, 1, 0)), wide(tempo=SLOW)).amount == 8

    def test_below_the_range_it_is_the_least_that_makes_sense(self):
        assert transfer(Dose(REPETITIONS, 3), exercise("t", low=6, usual=8, high=12)).amount == 6

    def test_above_the_range_it_is_the_most_for_a_child(self):
        assert transfer(Dose(REPETITIONS, 20), exercise("t", low=6, usual=8, high=12)).amount == 12


class TestSides:
    @pytest.mark.parametrize(
        ("written", "given_", "amount"),
        [
            (EACH, EACH, 8),
            (ALTERNATING, ALTERNATING, 8),
            (BOTH, EACH, 8),  # 8 squats: each leg did 8. 8 step-downs each side: each leg does 8.
            (EACH, BOTH, 8),
            (BOTH, ALTERNATING, 8),
            (ALTERNATING, BOTH, 8),
            (EACH, ALTERNATING, 16),  # 8 left and 8 right are 16 that swap sides
            (ALTERNATING, EACH, 4),  # 8 that swap sides are 4 left and 4 right
        ],
    )
    def test_the_total_stays_between_each_side_and_swapping_sides(self, written, given_, amount):
        assert transfer(Dose(REPETITIONS, 8, written), wide(sides=given_)).amount == amount

    def test_an_odd_amount_that_swapped_sides_does_not_grow(self):
        assert transfer(Dose(REPETITIONS, 9, ALTERNATING), wide(sides=EACH)).amount == 4


class TestBetweenMeasures:
    def test_repetitions_become_the_seconds_they_take(self):
        # 8 repetitions of 3 + 1 + 1 + 0 seconds
        assert transfer(Dose(REPETITIONS, 8, tempo=SLOW), wide(measure=SECONDS)).amount == 40

    def test_repetitions_without_a_tempo_take_the_pace_of_a_junior(self):
        assert transfer(Dose(REPETITIONS, 8), wide(measure=SECONDS)).amount == 8 * 3

    def test_seconds_become_the_repetitions_that_fit_whole_into_them(self):
        # 29 ÷ 5 = 5.8: the sixth repetition would not be finished.
        assert transfer(Dose(SECONDS, 29), wide(tempo=SLOW)).amount == 5

    def test_metres_become_the_seconds_they_take_and_back(self):
        assert transfer(Dose(METRES, 8), wide(measure=SECONDS)).amount == 20  # 8 × 2.5
        assert transfer(Dose(SECONDS, 20), wide(measure=METRES)).amount == 8  # 20 ÷ 2.5

    def test_metres_become_repetitions_through_their_seconds(self):
        assert transfer(Dose(METRES, 8), wide(tempo=SLOW)).amount == 4  # 20 s ÷ 5 s

    def test_sides_and_measure_may_change_at_once(self):
        # 12 swapping sides at 5 s are 60 s in all, 30 on each side.
        written = Dose(REPETITIONS, 12, ALTERNATING, SLOW)
        assert transfer(written, wide(measure=SECONDS, sides=EACH)).amount == 30

    def test_the_range_has_the_last_word(self):
        hold = exercise("half-squat-hold", measure=SECONDS, low=5, usual=10, high=20)
        assert transfer(Dose(REPETITIONS, 8, tempo=SLOW), hold).amount == 20
        assert transfer(Dose(REPETITIONS, 1), hold).amount == 5

    def test_another_pace_gives_other_numbers(self):
        brisk = Pace(seconds_per_metre=1)
        assert transfer(Dose(METRES, 8), wide(measure=SECONDS), brisk).amount == 8

    def test_a_hair_of_binary_arithmetic_costs_no_metre(self):
        # 45 × (0.5 + 1 + 2) s at 2.5 s a metre are 63 m, but 45 × (3.5 ÷ 2.5) < 63 in binary.
        lane = exercise("lane", measure=METRES, low=1, usual=10, high=100)
        assert transfer(Dose(REPETITIONS, 45, tempo=Tempo(FAST, 1, 2, 0)), lane).amount == 63


def test_tempo_and_ground_contacts_are_those_of_the_new_exercise():
    moved = transfer(Dose(REPETITIONS, 8, tempo=SLOW), wide(tempo=Tempo(2, 0, 2, 0), contacts=1))
    assert moved == Dose(REPETITIONS, 8, tempo=Tempo(2, 0, 2, 0), contacts=1)


@given(doses, exercises("target"))
def test_whatever_was_written_the_dose_fits_the_new_exercise(written, target):
    moved = transfer(written, target)
    assert moved.amount in target.amounts
    assert (moved.measure, moved.sides, moved.tempo, moved.contacts) == (
        target.measure,
        target.sides,
        target.tempo,
        target.contacts_counted,
    )


@given(doses, exercises("target"))
def test_it_is_never_more_work_than_written_beyond_the_least_that_makes_sense(written, target):
    moved = transfer(written, target)
    if moved.amount > target.amounts.low:
        either_side_alone = {Sides.EACH, Sides.ALTERNATING} >= {written.sides, target.sides}
        bouts = (len(moved.sides.bouts), len(written.sides.bouts)) if either_side_alone else (1, 1)
        if moved.measure is written.measure:
            assert moved.amount * bouts[0] <= written.amount * bouts[1]
        else:
            given_seconds = moved.amount * moved.seconds_per_unit() * bouts[0]
            assert given_seconds <= written.amount * written.seconds_per_unit() * bouts[1] + 1e-6


@given(st.integers(1, 60), st.sampled_from(Measure), st.sampled_from(Sides))
def test_an_exercise_of_the_same_kind_gets_the_same_dose(amount, measure, sides):
    written = Dose(measure, amount, sides)
    assert transfer(written, wide(measure=measure, sides=sides)) == written
