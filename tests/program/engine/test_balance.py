import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.balance import Reading, Weaker, balance, typical_error


def readings(*pairs) -> list[Reading]:
    return [Reading(left, right, n) for n, (left, right) in enumerate(pairs)]


@pytest.mark.parametrize(
    ("left", "right", "percent"),
    [(8, 8, 0), (6, 8, 25), (8, 6, -25), (10, 9, -10), (0, 5, 100), (120, 150, 20)],
)
def test_the_difference_is_the_published_formulas(left, right, percent):
    """100 * (max - min) / max, with the sign saying which side; worked by hand."""
    assert Reading(left, right).percent == pytest.approx(percent)


def test_nothing_on_both_sides_has_no_difference():
    assert Reading(0, 0).percent is None


def test_less_than_nothing_is_refused():
    with pytest.raises(ValueError, match="less than nothing"):
        Reading(-1, 4)


def test_the_typical_error_is_the_sd_of_the_differences_over_root_two():
    """From 10 12 11 13 the differences are 2 -1 2, their SD 1.732, over 1.414 is 1.225."""
    assert typical_error([10, 12, 11, 13]) == pytest.approx(1.2247, abs=1e-4)


@given(st.lists(st.floats(-100, 100), min_size=3, max_size=12))
def test_the_typical_error_is_that_of_pandas(values):
    expected = pd.Series(values).diff().std() / math.sqrt(2)
    assert typical_error(values) == pytest.approx(expected, abs=1e-9)


def test_two_values_have_no_typical_error():
    assert typical_error([10, 12]) is None


def test_a_weaker_left_side_shown_four_times_is_worth_a_look():
    """25, 25, 12.5 and 25 percent: the median is 25; differences 0 -12.5 12.5 make an error of
    8.84."""
    found = balance(readings((6, 8), (6, 8), (7, 8), (6, 8)))
    assert (found.percent, found.weaker, found.agreeing) == (25, Weaker.LEFT, 4)
    assert found.error == pytest.approx(8.84, abs=0.005)
    assert found.is_beyond_noise
    assert found.is_worth_a_look
    assert [reading.log for reading in found.readings] == [0, 1, 2, 3]


def test_one_reading_says_nothing_however_large():
    assert balance(readings((2, 8))) is None
    assert balance(readings((2, 8), (2, 8), (2, 8))) is None


def test_sides_that_take_turns_are_noise():
    found = balance(readings((6, 8), (8, 6), (6, 8), (8, 6), (6, 8)))
    assert not found.is_beyond_noise


def test_what_is_smaller_than_the_childs_own_repeats_is_noise():
    """5, 40, 5, 40 percent: the median is 22.5, the error 28.6."""
    found = balance(readings((95, 100), (60, 100), (95, 100), (60, 100)))
    assert found.percent == pytest.approx(22.5)
    assert found.error == pytest.approx(28.58, abs=0.005)
    assert not found.is_beyond_noise


def test_a_sure_but_small_difference_is_beyond_noise_and_no_reason_to_look():
    found = balance(readings(*[(9, 10)] * 5))
    assert (found.is_beyond_noise, found.is_worth_a_look) == (True, False)


@given(st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), max_size=10))
def test_swapping_the_sides_swaps_the_answer_and_nothing_else(pairs):
    one, other = balance(readings(*pairs)), balance(readings(*[(b, a) for a, b in pairs]))
    if one is None:
        assert other is None
        return
    assert one.percent == pytest.approx(other.percent)
    assert one.error == pytest.approx(other.error)
    assert {one.weaker, other.weaker} == {Weaker.LEFT, Weaker.RIGHT}
    assert one.is_worth_a_look == other.is_worth_a_look
