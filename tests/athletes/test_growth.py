import datetime as dt
import itertools
import json
from importlib.resources import files

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import t as student

from athletes.growth import (
    HEIGHT_ERROR,
    LEAST_REPEATS,
    MIRWALD,
    MOORE,
    Measurement,
    Sex,
    TapeError,
    check_follows,
    maturity_offset,
    median_slope,
    tape_error,
    velocity,
)

DAY = dt.date(2026, 11, 4)
LAST_YEAR = dt.date(2025, 11, 4)
BORN = dt.date(2014, 5, 1)


def measured(height, sitting=None, mass=None, on=DAY, again=None) -> Measurement:
    return Measurement(on, height, sitting, mass, again)


# Worked by hand-held arithmetic from the printed coefficients, outside this program: age, height,
# sitting height, mass; then the offsets of boys and girls (2002) and, without mass, of boys with
# sitting height, boys and girls (2015).
CASES = (
    ((9.5, 133.2, 70.8, 29.4), (-3.6661, -2.3561, -3.3973, -3.4289, -2.3651)),
    ((10.25, 138.0, 72.5, 32.1), (-3.1710, -1.7498, -2.9012, -2.8903, -1.7354)),
    ((11.8, 146.4, 76.1, 37.9), (-2.0936, -0.4962, -1.8118, -1.7595, -0.4135)),
    ((12.9, 153.7, 79.6, 43.5), (-1.1700, 0.5205, -0.9053, -0.8376, 0.6643)),
    ((13.6, 161.2, 83.3, 49.8), (-0.3577, 1.3696, -0.1594, -0.0805, 1.5495)),
    ((15.4, 173.9, 90.7, 62.6), (1.5810, 3.2285, 1.6970, 1.6742, 3.6008)),
)


@pytest.mark.parametrize(("child", "offsets"), CASES)
def test_the_offset_is_what_the_published_equations_give(child, offsets):
    age, height, sitting, mass = child
    asked = (
        (Sex.MALE, measured(height, sitting, mass), MIRWALD),
        (Sex.FEMALE, measured(height, sitting, mass), MIRWALD),
        (Sex.MALE, measured(height, sitting), MOORE),
        (Sex.MALE, measured(height), MOORE),
        (Sex.FEMALE, measured(height, sitting), MOORE),
    )
    for (sex, measurement, source), expected in zip(asked, offsets, strict=True):
        offset = maturity_offset(sex, age, measurement)
        assert (offset.years, offset.source) == (pytest.approx(expected, abs=6e-5), source)


def median_heights(table: str, sex: Sex) -> list[tuple[float, float]]:
    text = files("rcpchgrowth.data_tables").joinpath(table).read_text()
    rows = json.loads(text)["measurement"]["height"][sex]
    return [(row["decimal_age"], row["M"]) for row in rows if 8 <= row["decimal_age"] <= 17.5]


@pytest.mark.parametrize(
    ("table", "sex", "crosses"),
    [
        ("uk90_child.json", Sex.MALE, 13.79),
        ("cdc2-20.json", Sex.MALE, 13.71),
        ("uk90_child.json", Sex.FEMALE, 12.13),
        ("cdc2-20.json", Sex.FEMALE, 12.05),
    ],
)
def test_along_the_median_curves_the_offset_crosses_zero_where_it_should(table, sex, crosses):
    """UK90: Freeman et al. 1995; CDC: Kuczmarski et al. 2002."""
    offsets = [
        (age, maturity_offset(sex, age, measured(height)).years)
        for age, height in median_heights(table, sex)
    ]
    (below, above) = next(
        pair for pair in itertools.pairwise(offsets) if pair[0][1] < 0 <= pair[1][1]
    )
    share = -below[1] / (above[1] - below[1])
    assert below[0] + share * (above[0] - below[0]) == pytest.approx(crosses, abs=0.01)


@pytest.mark.parametrize(
    ("sex", "peak_age", "peak"), [(Sex.MALE, 13.3, 7.8), (Sex.FEMALE, 11.6, 7.2)]
)
def test_one_year_velocity_along_the_cdc_medians_peaks_where_it_should(sex, peak_age, peak):
    heights = dict(median_heights("cdc2-20.json", sex))
    born = dt.date(2010, 1, 1)

    def at(age: float) -> Measurement:
        return measured(heights[age], on=born + dt.timedelta(days=round(age * 365.25)))

    ages = sorted(heights)
    pairs = [(a, b) for a in ages for b in ages if abs(b - a - 1) < 0.001]
    by_age = {(a + b) / 2: velocity([at(a), at(b)]).cm_a_year for a, b in pairs}
    fastest = max(by_age, key=by_age.get)
    assert (fastest, by_age[fastest]) == (
        pytest.approx(peak_age, abs=0.1),
        pytest.approx(peak, abs=0.1),
    )


def test_the_band_is_the_published_standard_error_either_side():
    boy = maturity_offset(Sex.MALE, 13.6, measured(161.2, 83.3, 49.8))
    assert (boy.low, boy.high) == (pytest.approx(-0.9477, abs=1e-4), pytest.approx(0.2323, 1e-3))
    girl = maturity_offset(Sex.FEMALE, 12.9, measured(153.7, 79.6, 43.5))
    assert girl.high - girl.low == pytest.approx(2 * 0.57)


points = st.lists(
    st.tuples(st.integers(0, 365), st.integers(1200, 1700)), min_size=2, max_size=9, unique=True
)


def test_two_readings_of_one_week_say_little_beside_two_a_year_apart():
    """Days 0 7 365, heights 140 141 146, in days: 1 / 7 weighs 7, 5 / 358 weighs 358 and 6 / 365
    weighs 365, of 730 in all. From below, 358 are short of half, so that the middle is 6 / 365."""
    assert median_slope([0, 7, 365], [140, 141, 146]) == pytest.approx(6 / 365)


@given(points)
def test_half_the_weight_lies_on_either_side_of_the_slope(pairs):
    xs, ys = [x for x, _ in pairs], [y / 10 for _, y in pairs]
    assume(len(set(xs)) > 1)
    middle = median_slope(xs, ys)
    slopes = [
        ((y2 - y1) / (x2 - x1), abs(x2 - x1))
        for (x1, y1), (x2, y2) in itertools.combinations(zip(xs, ys, strict=True), 2)
        if x1 != x2
    ]
    half = sum(weight for _, weight in slopes) / 2
    assert sum(weight for slope, weight in slopes if slope < middle - 1e-9) <= half
    assert sum(weight for slope, weight in slopes if slope > middle + 1e-9) <= half


def test_velocity_is_centimetres_a_year_with_the_tapes_error_as_a_band():
    """6 cm in half a year (182 days) is 12.04 a year. Two readings are off by 0.5 * 1.414, times
    1.96 over 0.4983 years is 2.78."""
    half = [measured(140, on=DAY - dt.timedelta(days=182)), measured(146)]
    found = velocity(half)
    assert found.cm_a_year == pytest.approx(6 / (182 / 365.25))
    assert found.plus_minus == pytest.approx(2.78, abs=0.005)
    assert found.is_a_spurt
    assert found.rests_on == tuple(half)


def test_the_band_narrows_with_time_and_with_two_readings_on_each_of_its_ends():
    year = velocity([measured(140, on=LAST_YEAR), measured(146)]).plus_minus
    half = velocity([measured(143, on=DAY - dt.timedelta(days=182)), measured(146)]).plus_minus
    twice = velocity([Measurement(LAST_YEAR, 140, again=140.2), Measurement(DAY, 146, again=146.2)])
    assert twice.plus_minus == pytest.approx(year / 2**0.5)
    assert twice.cm_a_year == pytest.approx(6 / (365 / 365.25))
    assert twice.plus_minus < year < half
    assert year == pytest.approx(1.96 * HEIGHT_ERROR * 2**0.5 / (365 / 365.25))


def test_a_reading_between_the_ends_narrows_nothing():
    """With three uneven days the median slope is that of the ends, and so is its error."""
    ends = [measured(140, on=LAST_YEAR), measured(146)]
    between = measured(140.1, on=LAST_YEAR + dt.timedelta(days=16))
    assert velocity([*ends, between]).plus_minus == velocity(ends).plus_minus
    assert velocity([*ends, between]).cm_a_year == velocity(ends).cm_a_year


def test_the_tapes_error_is_the_technical_error_of_its_repeats():
    """Ten repeats: 1 cm apart five times and 0.4 cm five times. 5 + 0.8 over 20 is 0.29, its root
    0.5385; 95 of 100 at ten degrees of freedom are 2.228 of them either side."""
    error = tape_error(5 * 1**2 + 5 * 0.4**2, 10)
    assert (error.cm, error.repeats) == (pytest.approx(0.5385, abs=0.0001), 10)
    year = [measured(140, on=LAST_YEAR), measured(146)]
    band = velocity(year, error).plus_minus
    assert band == pytest.approx(2.228 * 0.5385 * 1.4142 / (365 / 365.25), abs=0.003)


def test_nine_repeats_are_too_few_and_no_tape_is_surer_than_an_experienced_one():
    assert tape_error(36, LEAST_REPEATS - 1) == TapeError(HEIGHT_ERROR, 0)
    assert tape_error(0, 12).cm == 0.3


@given(st.integers(LEAST_REPEATS, 2000))
def test_the_bands_width_is_that_of_students_t(repeats):
    assert TapeError(0.5, repeats).confidence == pytest.approx(
        student.ppf(0.975, repeats), abs=3e-3
    )


heights = st.lists(
    st.builds(
        Measurement,
        on=st.dates(LAST_YEAR, DAY),
        height=st.floats(139, 150).map(lambda height: round(height, 1)),
        again=st.none(),
    ),
    min_size=2,
    max_size=7,
    unique_by=lambda each: each.on,
)


@given(heights, st.randoms())
def test_the_order_of_the_readings_does_not_matter(rows, chance):
    there = velocity(rows)
    chance.shuffle(rows)
    shuffled = velocity(rows)
    assert (there is None) == (shuffled is None)
    if there:
        assert shuffled.cm_a_year == pytest.approx(there.cm_a_year)
        assert shuffled.plus_minus == pytest.approx(there.plus_minus)


@pytest.mark.parametrize(
    ("age", "source"),
    [
        *((7.4, None), (7.5, MOORE), (7.9, MOORE), (8, MIRWALD)),
        *((16, MIRWALD), (16.1, MOORE), (17.5, MOORE), (17.6, None)),
    ],
)
def test_nothing_is_estimated_at_an_age_that_no_equation_was_made_from(age, source):
    offset = maturity_offset(Sex.FEMALE, age, measured(150, 78, 40))
    assert (offset and offset.source) == source


def test_one_slip_of_the_tape_among_five_readings_makes_no_spurt():
    days = [DAY - dt.timedelta(days=90 * n) for n in (4, 3, 2, 1, 0)]
    right = [140, 141.3, 142.6, 143.9, 145.2]
    slipped = [*right[:2], 145.6, *right[3:]]
    for heights in (right, slipped):
        rows = [measured(h, on=day) for h, day in zip(heights, days, strict=True)]
        found = velocity(rows)
        assert found.cm_a_year == pytest.approx(5.27, abs=0.6)
        assert not found.is_a_spurt


def test_a_velocity_is_not_read_from_less_than_three_months():
    assert velocity([measured(140, on=DAY - dt.timedelta(days=89)), measured(146)]) is None
    assert velocity([measured(140, on=DAY - dt.timedelta(days=90)), measured(146)]) is not None
    assert velocity([measured(146)]) is None
    assert velocity([]) is None


def test_a_velocity_rests_on_the_last_year_alone():
    old = measured(120, on=DAY - dt.timedelta(days=800))
    recent = [measured(140, on=LAST_YEAR), measured(146)]
    assert velocity([*recent, old]).rests_on == tuple(recent)
    assert velocity([old, measured(146)]) is None


@pytest.mark.parametrize(
    ("details", "said"),
    [
        ({"height": 300}, "A height lies between 70 and 230 cm, not at 300."),
        ({"height": 0}, "not at 0"),
        ({"height": float("nan")}, "A height"),
        ({"height": 140, "sitting": 141}, "Nobody sits taller"),
        ({"height": 140, "sitting": 140}, "Nobody sits taller"),
        ({"height": 140, "sitting": 110}, "measured from the seat"),
        ({"height": 140, "sitting": 30}, "A sitting height lies between"),
        ({"height": 140, "mass": 400}, "A mass lies between"),
        ({"height": 140, "again": 142.1}, "The two readings lie 2.1 cm apart. Measure again."),
        ({"height": 70, "again": 69.9}, "A height lies between"),
    ],
)
def test_what_no_child_measures_is_refused_in_plain_words(details, said):
    with pytest.raises(ValueError, match=said):
        measured(**details)


def test_a_child_does_not_shrink_by_five_centimetres_in_either_order_of_writing():
    there = [measured(140, on=LAST_YEAR)]
    with pytest.raises(ValueError, match="5 cm shorter than on 04 November 2025"):
        check_follows(measured(135), there, BORN, DAY)
    with pytest.raises(ValueError, match="5 cm shorter than on 04 November 2025"):
        check_follows(measured(140, on=LAST_YEAR), [measured(135)], BORN, DAY)
    check_follows(measured(138.5), there, BORN, DAY)


def test_nothing_is_measured_tomorrow():
    with pytest.raises(ValueError, match="has not come yet"):
        check_follows(measured(140, on=DAY + dt.timedelta(days=1)), [], BORN, DAY)


def test_nobody_is_measured_before_birth():
    with pytest.raises(ValueError, match="before the birth, on 01 May 2014"):
        check_follows(measured(80, on=BORN - dt.timedelta(days=1)), [], BORN, DAY)
    check_follows(measured(80, on=BORN), [], BORN, DAY)
