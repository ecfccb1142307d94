"""Doses and tempos: what they cost, how they are said, what is refused."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.tempo import FAST, Tempo
from program.engine.dose.dose import (
    Dose,
    DoseRange,
    Measure,
    Side,
    Sides,
    in_words,
    validate_amount,
)
from program.engine.pace import Pace
from tests.support.engine_strategies import doses, tempos

SLOW = Tempo(3, 1, 1, 0)


class TestTempo:
    def test_four_numbers_are_lowering_pause_lifting_and_pause(self):
        assert Tempo.parse("3-1-2-0") == Tempo(lowering=3, pause=1, lifting=2, top=0)

    def test_x_is_a_fast_phase(self):
        assert Tempo.parse("2-0-X-1") == Tempo(2, 0, FAST, 1)
        assert Tempo.parse("X-2-1-0") == Tempo(FAST, 2, 1, 0)

    @pytest.mark.parametrize("typed", [" 3-1-x-0 ", "3 - 1 - X - 0", "3–1–X–0", "3—1—x—0"])
    def test_what_a_phone_makes_of_it_is_still_read(self, typed):
        assert str(Tempo.parse(typed)) == "3-1-X-0"

    @pytest.mark.parametrize(
        "typed",
        [
            "",
            "slow",
            "3110",
            "3-1-1",
            "3-1-1-0-0",
            "3-X-1-0",
            "3-1-1-X",
            "3-1-1.5-0",
            "-3-1-1-0",
            "²-1-1-0",
            "٣-1-1-0",
        ],
    )
    def test_anything_else_is_refused_with_an_example_to_follow(self, typed):
        with pytest.raises(ValueError, match=r"is not a tempo\. Write four numbers .* 3-1-1-0"):
            Tempo.parse(typed)

    def test_a_phase_longer_than_a_hold_is_refused(self):
        with pytest.raises(ValueError, match="0 to 10 seconds, not 11"):
            Tempo.parse("3-11-1-0")

    def test_a_repetition_cannot_take_no_time(self):
        with pytest.raises(ValueError, match="takes no time"):
            Tempo.parse("0-0-0-0")

    def test_its_seconds_are_the_sum_of_its_phases(self):
        assert SLOW.seconds() == 3 + 1 + 1 + 0

    def test_fast_takes_what_the_pace_says(self):
        jump = Tempo(2, 0, FAST, 1)
        assert jump.seconds() == 2 + 0 + 0.5 + 1
        assert jump.seconds(fast=1) == 2 + 0 + 1 + 1

    @given(tempos)
    def test_what_is_written_reads_back_the_same(self, tempo):
        assert Tempo.parse(str(tempo)) == tempo

    @given(tempos)
    def test_a_repetition_always_takes_time(self, tempo):
        assert tempo.seconds() > 0


class TestWorkOfASet:
    def test_ten_slow_repetitions(self):
        squat = Dose(Measure.REPETITIONS, 10, tempo=SLOW)
        assert squat.work_seconds() == 10 * 5
        assert squat.time_under_tension() == 10 * 5
        assert squat.repetitions == 10

    def test_each_side_does_the_whole_amount(self):
        split_squat = Dose(Measure.REPETITIONS, 8, Sides.EACH, SLOW)
        assert split_squat.seconds_per_bout() == 8 * 5
        assert split_squat.work_seconds() == 2 * 8 * 5
        assert split_squat.time_under_tension() == 2 * 8 * 5
        assert split_squat.repetitions == 2 * 8

    def test_alternating_sides_share_the_amount(self):
        lunge = Dose(Measure.REPETITIONS, 8, Sides.ALTERNATING, SLOW)
        assert lunge.work_seconds() == 8 * 5
        assert lunge.repetitions == 8

    def test_alternating_starts_on_the_left_which_gets_the_odd_one(self):
        lunge = Dose(Measure.REPETITIONS, 9, Sides.ALTERNATING)
        assert [lunge.repetitions_on(side) for side in Side] == [5, 4]
        assert [replace(lunge, sides=Sides.EACH).repetitions_on(side) for side in Side] == [9, 9]
        assert [replace(lunge, sides=Sides.BOTH).repetitions_on(side) for side in Side] == [0, 0]

    def test_repetitions_without_a_tempo_go_at_the_pace(self):
        push_up = Dose(Measure.REPETITIONS, 8)
        assert push_up.work_seconds() == 8 * 3
        assert push_up.work_seconds(Pace(seconds_per_repetition=2)) == 8 * 2

    def test_a_hold_is_exact_and_has_no_repetitions(self):
        side_brace = Dose(Measure.SECONDS, 10, Sides.EACH)
        assert side_brace.work_seconds() == 2 * 10
        assert side_brace.hold_seconds == 2 * 10
        assert side_brace.repetitions == side_brace.metres == 0
        assert side_brace.time_under_tension() == 0

    def test_a_lane_of_eight_metres_is_the_usual_crawling_bout(self):
        # Common practice: crawling bouts are about 20 s. 8 m × 2.5 s = 20 s.
        crawl = Dose(Measure.METRES, 8)
        assert crawl.work_seconds() == crawl.seconds_per_unit() * 8 == 20
        assert crawl.metres == 8
        assert crawl.repetitions == crawl.hold_seconds == 0

    def test_a_part_second_is_rounded_up_but_tension_is_not(self):
        # 2 + 0 + ½ + 0 = 2.5 s; five of them 12.5 s, and the clock gives 13.
        jump = Dose(Measure.REPETITIONS, 5, tempo=Tempo(2, 0, FAST, 0))
        assert jump.work_seconds() == 13
        assert jump.time_under_tension() == 12.5

    def test_binary_fractions_do_not_cost_a_second(self):
        # In binary 50 × 1.1 is 55.00000000000001.
        assert Dose(Measure.METRES, 50).work_seconds(Pace(seconds_per_metre=1.1)) == 55

    def test_work_takes_a_second_even_at_an_absurd_pace(self):
        assert Dose(Measure.METRES, 1).work_seconds(Pace(seconds_per_metre=1e-9)) == 1

    def test_contacts_are_counted_per_repetition_second_or_metre(self):
        # A landing on both feet at once is two contacts: 5 × 2 = 10.
        assert Dose(Measure.REPETITIONS, 5, contacts=2).ground_contacts == 10
        # Hops on one foot, 4 each side: 4 + 4 = 8.
        assert Dose(Measure.REPETITIONS, 4, Sides.EACH, contacts=1).ground_contacts == 8
        # Skipping at 2 contacts a second for 15 s: 30.
        assert Dose(Measure.SECONDS, 15, contacts=2).ground_contacts == 30

    @given(doses)
    def test_a_bout_is_a_whole_number_of_seconds_and_at_least_one(self, dose):
        assert isinstance(dose.seconds_per_bout(), int)
        assert dose.seconds_per_bout() >= 1
        assert dose.work_seconds() >= dose.time_under_tension()

    @given(doses)
    def test_a_set_is_counted_in_its_own_measure_only(self, dose):
        counted = {
            Measure.REPETITIONS: dose.repetitions,
            Measure.SECONDS: dose.hold_seconds,
            Measure.METRES: dose.metres,
        }
        assert counted.pop(dose.measure) == dose.total > 0
        assert set(counted.values()) == {0}


class TestSides:
    def test_only_each_side_is_two_bouts_left_first(self):
        assert Sides.EACH.bouts == (Side.LEFT, Side.RIGHT)
        assert Sides.BOTH.bouts == Sides.ALTERNATING.bouts == (None,)


class TestRefusals:
    @pytest.mark.parametrize(
        ("measure", "most"),
        [(Measure.REPETITIONS, 60), (Measure.SECONDS, 600), (Measure.METRES, 200)],
    )
    def test_the_limits_are_still_allowed_and_one_past_them_is_not(self, measure, most):
        for amount in (1, most):
            assert Dose(measure, amount).amount == amount
        for amount in (0, most + 1):
            with pytest.raises(ValueError, match=f"{amount} {measure} .* choose 1 to {most}"):
                Dose(measure, amount)

    @pytest.mark.parametrize("measure", [Measure.SECONDS, Measure.METRES])
    def test_only_repetitions_have_a_tempo(self, measure):
        with pytest.raises(ValueError, match="A tempo times repetitions"):
            Dose(measure, 10, tempo=SLOW)

    @pytest.mark.parametrize("contacts", [-1, float("nan"), float("inf")])
    def test_contacts_are_a_number_from_zero_up(self, contacts):
        with pytest.raises(ValueError, match="Ground contacts"):
            Dose(Measure.REPETITIONS, 5, contacts=contacts)


class TestDoseRange:
    def test_an_amount_is_in_range_or_moved_to_its_nearest_end(self):
        usual = DoseRange(6, 8, 12)
        assert 6 in usual
        assert 12 in usual
        assert 5 not in usual
        assert 13 not in usual
        assert [usual.clamp(amount) for amount in (1, 6, 9, 12, 30)] == [6, 6, 9, 12, 12]

    def test_an_amount_outside_the_range_is_said(self):
        used_with = DoseRange(8, 10, 12)
        assert used_with.outside(8) == used_with.outside(12) == ""
        assert used_with.outside(7) == "less than the 8 to 12 it is used with"
        assert used_with.outside(13) == "more than the 8 to 12 it is used with"

    @pytest.mark.parametrize("numbers", [(0, 8, 12), (8, 6, 12), (6, 13, 12), (12, 8, 6)])
    def test_numbers_out_of_order_are_refused(self, numbers):
        with pytest.raises(ValueError, match="low over usual to high"):
            DoseRange(*numbers)

    def test_it_must_fit_the_measure_it_is_used_with(self):
        holds = DoseRange(10, 20, 90)
        holds.validate(Measure.SECONDS)
        with pytest.raises(ValueError, match="90 repetitions is out of range"):
            holds.validate(Measure.REPETITIONS)

    @given(st.integers(-700, 700))
    def test_an_amount_moved_into_range_is_a_dose(self, amount):
        clamped = DoseRange(6, 8, 12).clamp(amount)
        validate_amount(Measure.REPETITIONS, clamped)


class TestPace:
    @pytest.mark.parametrize("name", ["get_ready", "drink", "breather", "move_on", "change_side"])
    def test_a_time_between_work_may_be_nothing_but_not_less(self, name):
        Pace(**{name: 0})
        with pytest.raises(ValueError, match=f"{name.replace('_', ' ')}.* cannot be -1"):
            Pace(**{name: -1})

    @pytest.mark.parametrize("speed", [0, -1, float("nan"), float("inf")])
    def test_work_at_no_speed_is_refused(self, speed):
        with pytest.raises(ValueError, match=r"seconds per metre.* cannot be"):
            Pace(seconds_per_metre=speed)


@pytest.mark.parametrize(
    ("dose", "words"),
    [
        (Dose(Measure.REPETITIONS, 8), "8 times"),
        (Dose(Measure.REPETITIONS, 1), "once"),
        (Dose(Measure.REPETITIONS, 8, Sides.EACH), "8 each side"),
        (Dose(Measure.REPETITIONS, 10, Sides.ALTERNATING), "10, swapping sides"),
        (Dose(Measure.SECONDS, 20), "20 seconds"),
        (Dose(Measure.SECONDS, 1), "1 second"),
        (Dose(Measure.SECONDS, 10, Sides.EACH), "10 seconds each side"),
        (Dose(Measure.SECONDS, 30, Sides.ALTERNATING), "30 seconds, swapping sides"),
        (Dose(Measure.METRES, 8), "8 m"),
        (Dose(Measure.METRES, 8, Sides.EACH), "8 m each side"),
    ],
)
def test_a_dose_is_said_as_a_coach_says_it(dose, words):
    assert in_words(dose) == words


def test_amounts_in_short_have_their_unit_once():
    assert Measure.REPETITIONS.written(8) == "8"
    assert Measure.SECONDS.written(20) == "20 s"
    assert Measure.METRES.written(8, 6) == "8 · 6 m"
