import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.balance import LEAST_READINGS, MOST_READINGS, Reading, Weaker, balance


def readings(*pairs) -> list[Reading]:
    return [Reading(left, right, n) for n, (left, right) in enumerate(pairs)]


def test_less_than_nothing_is_refused():
    with pytest.raises(ValueError, match="less than nothing"):
        Reading(-1, 4)


WEAKER_LEFT = readings((6, 8), (5, 9), (7, 7), (6, 8), (5, 9), (7, 7), (6, 8), (6, 8))


def test_a_weaker_left_side_shown_eight_times_is_worth_a_look():
    """48 against 64: 16 of 64 are 25 percent. Left lies 0 1 1 0 1 1 0 0 from its mean of 6, so that
    its squares sum to 4, over 7 is less than 1, which is the least there is; right likewise. The
    sums are off by the root of (1 + 1) * 8, which is 4; 2.65 * 4 of 64 are 16.56 percent."""
    found = balance(WEAKER_LEFT)
    assert (found.left, found.right, found.percent) == (48, 64, 25)
    assert (found.weaker, found.margin) == (Weaker.LEFT, pytest.approx(16.5625))
    assert found.is_worth_a_look
    assert [reading.log for reading in found.readings] == list(range(8))


def test_the_more_the_sides_vary_the_larger_a_difference_must_be():
    """2 10 2 10 2 10 2 10 are 48, each 4 from the mean: 128 over 7 is 18.29. With 1 of the other
    side, times 8, the root is 12.421; 2.65 times that of 64 are 51.43 percent, and 25 are noise."""
    found = balance(readings(*[(2, 8), (10, 8)] * 4))
    assert (found.percent, found.margin) == (25, pytest.approx(51.43, abs=0.01))
    assert not found.is_beyond_noise


def test_seven_readings_say_nothing_however_large():
    assert balance(readings(*[(2, 8)] * (LEAST_READINGS - 1))) is None


def test_days_on_which_neither_side_did_anything_do_not_count():
    assert balance([*readings(*[(2, 8)] * 7), Reading(0, 0)]) is None


def test_sides_that_take_turns_are_noise():
    found = balance(readings((4, 8), *[(6, 8), (8, 6)] * 4))
    assert not found.is_beyond_noise


def test_a_sure_but_small_difference_is_beyond_noise_and_no_reason_to_look():
    """135 against 150 is 10 percent; off by the root of 2 * 15, times 2.65, 14.5 of 150: 9.7."""
    found = balance(readings(*[(9, 10)] * 15))
    assert (found.is_beyond_noise, found.is_worth_a_look) == (True, False)
    assert found.margin == pytest.approx(9.68, abs=0.01)


def test_a_steady_drift_is_not_said_without_an_error():
    """Left stays at 10, right is 10 10 9 9 8 8 7 7 6 6: 100 against 80. From its mean of 8 right
    lies 2 2 1 1 0 0 1 1 2 2; the squares sum to 20, over 9 is 2.22, and 1 for the left. Times 10,
    the root is 5.676, and 2.65 times that of 100 are 15.04."""
    found = balance(readings(*[(10, 10 - n // 2) for n in range(10)]))
    assert (found.percent, found.weaker) == (20, Weaker.RIGHT)
    assert found.margin == pytest.approx(15.04, abs=0.01)


def test_the_last_season_speaks_and_what_was_before_it_does_not():
    old, new = readings(*[(4, 8)] * 20), readings(*[(8, 8), (7, 8)] * (MOST_READINGS // 2))
    assert balance([*old, *new]) == balance(new)


sides = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20)), max_size=20)


@given(sides)
def test_swapping_the_sides_swaps_the_answer_and_nothing_else(pairs):
    one, other = balance(readings(*pairs)), balance(readings(*[(b, a) for a, b in pairs]))
    if one is None:
        assert other is None
        return
    assert (one.percent, one.margin) == (other.percent, other.margin)
    assert {one.weaker, other.weaker} == {Weaker.LEFT, Weaker.RIGHT}


@given(sides.filter(lambda pairs: len(pairs) <= MOST_READINGS), st.randoms())
def test_the_order_of_a_seasons_readings_does_not_matter(pairs, chance):
    there = balance(readings(*pairs))
    chance.shuffle(pairs)
    shuffled = balance(readings(*pairs))
    assert (there is None) == (shuffled is None)
    if there and shuffled:
        assert shuffled.percent == there.percent
        assert shuffled.margin == pytest.approx(there.margin)


@given(sides, st.integers(2, 5))
def test_ten_times_as_many_seconds_as_repetitions_is_the_same_percent(pairs, times):
    one = balance(readings(*pairs))
    more = balance(readings(*[(times * a, times * b) for a, b in pairs]))
    if one and more:
        assert more.percent == pytest.approx(one.percent)
        assert more.margin <= one.margin + 1e-9
