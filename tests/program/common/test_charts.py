"""Charts as geometry: where columns, bands and curves lie, in percent of the drawing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.common.charts import columns, curve


def test_columns_stand_on_the_ground_and_the_largest_leaves_some_room():
    """Four weeks of a quarter each; the top is 108 for a largest amount of 100."""
    drawn = columns("Load", [("2 Nov", 54), ("9 Nov", 100), ("16 Nov", None), ("23 Nov", 0)])
    assert [(each.x, each.width) for each in drawn.columns] == [
        (5, 15),
        (30, 15),
        (55, 15),
        (80, 15),
    ]
    assert [each.height for each in drawn.columns] == [50, 92.59, 14, 0]
    assert [each.is_known for each in drawn.columns] == [True, True, False, True]
    assert all(each.y + each.height == pytest.approx(100) for each in drawn.columns)
    assert drawn.description == "2 Nov: 54; 9 Nov: 100; 16 Nov: no number; 23 Nov: 0"
    assert [(each.anchor, each.words) for each in drawn.ticks] == [
        ("start", "2 Nov"),
        ("end", "23 Nov"),
    ]


def test_the_smoothed_course_skips_what_is_not_known_and_the_band_lies_where_usual_is():
    drawn = columns(
        "Load", [("a", 50), ("b", None), ("c", 100)], smoothed=[50, None, 75], band=(27, 81)
    )
    assert [each.x for each in drawn.points] == [16.67, 83.33]
    assert drawn.band == (25.0, 50.0)
    assert len(drawn.segments) == 1


def test_no_chart_is_drawn_of_nothing():
    assert columns("Load", []) is None
    assert columns("Load", [("a", None)]) is None
    assert curve("Heights", [("a", 0, 140)], unit="cm") is None
    with pytest.raises(ValueError, match="negative"):
        columns("Load", [("a", -1)])


def test_a_curve_runs_from_its_first_to_its_last_moment():
    drawn = curve("Heights", [("May", 0, 140), ("Aug", 50, 141), ("Nov", 100, 145)], unit="cm")
    assert [(each.x, each.y) for each in drawn.points] == [(3, 88), (50, 74), (97, 18)]
    assert drawn.ends == ("140.0 cm", "145.0 cm")
    assert drawn.description == "May: 140.0 cm; Aug: 141.0 cm; Nov: 145.0 cm"


@given(st.lists(st.none() | st.integers(0, 10_000), min_size=1, max_size=20))
def test_nothing_is_drawn_outside_the_drawing(amounts):
    drawn = columns("Load", [(str(n), amount) for n, amount in enumerate(amounts)])
    for each in drawn.columns if drawn else ():
        assert each.x >= 0
        assert each.x + each.width <= 100.01
        assert 0 <= each.y <= 100
