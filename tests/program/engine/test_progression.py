"""Intents across weeks, week by week as a coach would write them down."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.dose.dose import Measure
from program.engine.progression import ProgressionKind, ProgressionRule, read_wave, wave_text

HOLD = ProgressionRule(ProgressionKind.GROW, start=10, step=5, top=20)
WAVE = ProgressionRule(ProgressionKind.WAVE, start=8, wave=(2, 3, 3, None))


def amounts(intent: ProgressionRule, weeks: int) -> list[int]:
    return [intent.amount(week) for week in range(weeks)]


def test_a_hold_grows_from_10_over_15_to_20_seconds_and_stays_there():
    assert amounts(HOLD, 5) == [10, 15, 20, 20, 20]
    assert {HOLD.rounds(week) for week in range(5)} == {None}
    assert str(HOLD) == "10, 5 more each week, up to 20"


def test_another_start_moves_every_week_after_it():
    assert amounts(ProgressionRule(ProgressionKind.GROW, start=12, step=5, top=20), 4) == [
        12,
        17,
        20,
        20,
    ]


def test_it_may_grow_every_second_week():
    assert amounts(ProgressionRule(ProgressionKind.GROW, start=6, step=2, every=2, top=10), 6) == [
        6,
        6,
        8,
        8,
        10,
        10,
    ]


def test_what_stays_stays():
    stays = ProgressionRule(ProgressionKind.STAY, start=8)
    assert amounts(stays, 26) == [8] * 26
    assert str(stays) == "stays at 8 until ready"


def test_a_wave_of_two_three_three_and_a_deload_comes_again():
    # A deload leaves 60 % of three rounds: 1.8, that is 2.
    assert [WAVE.rounds(week) for week in range(8)] == [2, 3, 3, 2, 2, 3, 3, 2]
    assert [week for week in range(8) if WAVE.is_deload(week)] == [3, 7]
    assert amounts(WAVE, 8) == [8] * 8
    assert str(WAVE) == "8, in waves of 2-3-3-deload rounds"


@pytest.mark.parametrize(("most", "left"), [(1, 1), (2, 1), (3, 2), (4, 2), (5, 3), (10, 6)])
def test_a_deload_leaves_60_percent_and_one_round_at_least(most, left):
    assert ProgressionRule(ProgressionKind.WAVE, start=8, wave=(most, None)).rounds(1) == left


@pytest.mark.parametrize(
    ("kind", "said", "why"),
    [
        (ProgressionKind.GROW, {"step": 0, "top": 20}, "Say how much is added"),
        (ProgressionKind.GROW, {"step": -5, "top": 20}, "Say how much is added"),
        (ProgressionKind.GROW, {"step": 5, "top": 10}, "up to more than the 10 it starts with"),
        (ProgressionKind.GROW, {"step": 5, "top": 20, "every": 0}, "every 1 to 26 weeks"),
        (ProgressionKind.GROW, {"step": 5, "top": 20, "every": 27}, "every 1 to 26 weeks"),
        (ProgressionKind.WAVE, {"wave": ()}, "2 to 8 weeks"),
        (ProgressionKind.WAVE, {"wave": (3,)}, "2 to 8 weeks"),
        (ProgressionKind.WAVE, {"wave": (3,) * 9}, "2 to 8 weeks"),
        (ProgressionKind.WAVE, {"wave": (None, None)}, "one at least with rounds"),
        (ProgressionKind.WAVE, {"wave": (2, 0)}, "1 to 10 rounds"),
        (ProgressionKind.WAVE, {"wave": (2, 11)}, "1 to 10 rounds"),
    ],
)
def test_what_makes_no_sense_is_refused_with_the_reason(kind, said, why):
    with pytest.raises(ValueError, match=why):
        ProgressionRule(kind, start=10, **said)


@pytest.mark.parametrize(
    ("text", "wave"),
    [("2-3-3-deload", (2, 3, 3, None)), (" 2 – 3 - Deload ", (2, 3, None)), ("10-1", (10, 1))],
)
def test_a_wave_is_read_as_a_coach_writes_it(text, wave):
    assert read_wave(text) == wave
    assert read_wave(wave_text(wave)) == wave


@pytest.mark.parametrize("text", ["", "two-three", "2-3-", "2,3", "-2-3", "2-999", "²-3-x"])
def test_anything_else_is_no_wave(text):
    with pytest.raises(ValueError, match="such as 2-3-3-deload"):
        read_wave(text)


def test_an_amount_that_no_set_has_is_refused_by_its_measure():
    with pytest.raises(ValueError, match="61 repetitions is out of range"):
        ProgressionRule(ProgressionKind.GROW, start=8, step=1, top=61).check_amounts(
            Measure.REPETITIONS
        )
    ProgressionRule(ProgressionKind.GROW, start=8, step=1, top=60).check_amounts(
        Measure.REPETITIONS
    )


@given(
    start=st.integers(1, 600),
    step=st.integers(1, 100),
    every=st.integers(1, 26),
    more=st.integers(1, 300),
    weeks=st.integers(1, 26),
)
def test_growth_never_goes_back_nor_past_its_top(start, step, every, more, weeks):
    intent = ProgressionRule(ProgressionKind.GROW, start, step, every, start + more)
    planned = amounts(intent, weeks)
    assert planned == sorted(planned)
    assert planned[0] == start
    assert max(planned) <= start + more
    assert all(planned[week] == planned[week - week % every] for week in range(weeks))
