import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.load import (
    is_far_above,
    monotony,
    session_load,
    smoothed,
    strain,
    usual,
    week_load,
)

REST, UNKNOWN = 0, None


def test_a_hard_half_hour_is_its_effort_times_its_minutes():
    assert session_load(6, 30) == 180
    assert session_load(0, 30) == 0


@pytest.mark.parametrize(("effort", "minutes"), [(11, 20), (-1, 20), (5, 0), (5, 900)])
def test_what_cannot_be_is_refused(effort, minutes):
    with pytest.raises(ValueError, match="not"):
        session_load(effort, minutes)


def test_a_week_of_three_sessions_added_up_by_hand():
    """120, rest, 90, rest, 150, rest, rest: 360 in all, mean 51.43. The squares sum to 45 000, less
    7 * 51.43^2 leaves 26 485.7, over 6 is 4414.3, whose root is 66.44. 51.43 / 66.44 is 0.774;
    times 360 is 278.7."""
    week = [120, REST, 90, REST, 150, REST, REST]
    assert week_load(week) == 360
    assert monotony(week) == pytest.approx(0.774, abs=0.0005)
    assert strain(week) == pytest.approx(278.7, abs=0.1)


loads = st.lists(st.integers(0, 900), min_size=7, max_size=7)


@given(loads)
def test_sum_monotony_and_strain_are_those_of_pandas(week):
    days = pd.Series([float(load) for load in week])
    mean, sd, total = (
        days.rolling(7).mean().iloc[-1],
        days.rolling(7).std().iloc[-1],
        days.rolling(7).sum().iloc[-1],
    )
    assert week_load(week) == total
    if (days > 0).sum() < 3 or days.nunique() == 1:
        assert monotony(week) is strain(week) is None
    else:
        assert monotony(week) == pytest.approx(mean / sd)
        assert strain(week) == pytest.approx(total * mean / sd)


def test_seven_equal_days_have_no_monotony_rather_than_an_infinite_one():
    assert monotony([60] * 7) is None
    assert strain([60] * 7) is None


def test_two_days_of_work_are_too_few_for_a_monotony():
    assert monotony([100, REST, REST, 80, REST, REST, REST]) is None
    assert week_load([100, REST, REST, 80, REST, REST, REST]) == 180


def test_a_week_with_a_session_nobody_logged_has_no_load_rather_than_a_low_one():
    week = [120, REST, UNKNOWN, REST, 150, 90, REST]
    assert week_load(week) is monotony(week) is strain(week) is None


def test_a_week_has_seven_days():
    with pytest.raises(ValueError, match="7 days, not 6"):
        week_load([0] * 6)


def test_usual_is_the_median_and_its_deviation_scaled_to_an_sd():
    """Of 4 4 5 5 6 9 the median is 5, the deviations 1 1 0 0 1 4 have the median 1."""
    found = usual([4, 4, 5, 5, 6, 9])
    assert (found.median, found.spread, found.of) == (5, pytest.approx(1.4826), 6)


@given(st.lists(st.integers(0, 10), min_size=5, max_size=30))
def test_usual_agrees_with_pandas(values):
    series = pd.Series(values)
    found = usual(values)
    assert found.median == series.median()
    assert math.isclose(found.spread, 1.4826 * (series - series.median()).abs().median())


def test_four_sessions_are_too_few_to_be_usual():
    assert usual([5, 5, 5, 5]) is None
    assert not is_far_above(10, [2, 2, 2, 2])


@pytest.mark.parametrize(("effort", "is_far"), [(5, False), (7, False), (8, True), (10, True)])
def test_even_for_an_even_child_two_points_more_are_not_far(effort, is_far):
    assert is_far_above(effort, [5, 5, 5, 5, 5]) is is_far


@pytest.mark.parametrize(("effort", "is_far"), [(8, False), (9, True)])
def test_for_a_child_who_varies_it_takes_more(effort, is_far):
    """Of 3 4 5 6 7 the median is 5 and the spread 1.48: far is from 8.7 on."""
    assert is_far_above(effort, [3, 4, 5, 6, 7]) is is_far


def test_smoothing_worked_out_by_hand():
    """Over a span of 3, half is kept: 100; then (50 + 200) / 1.5; then, past a week that is not
    known, (62.5 + 100) / (0.375 + 1)."""
    found = smoothed([100, 200, UNKNOWN, 100], span=3)
    assert found == [
        100,
        pytest.approx(166.667, abs=0.001),
        None,
        pytest.approx(118.182, abs=0.001),
    ]


@given(st.lists(st.none() | st.floats(0, 3000), max_size=30), st.integers(1, 12))
def test_smoothing_agrees_with_pandas(values, span):
    told = pd.Series(values, dtype=float).ewm(span=span, adjust=True, ignore_na=False).mean()
    for value, mine, theirs in zip(values, smoothed(values, span), told, strict=True):
        if value is None:
            assert mine is None
        else:
            assert math.isclose(mine, theirs, rel_tol=1e-9, abs_tol=1e-6)
