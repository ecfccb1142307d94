import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.shared.lanes import Cell, Lane, Stop, pathway_lane, shares


def test_the_strip_is_dealt_out_by_weight() -> None:
    assert shares([6, 3, 1]) == [60, 30, 10]


def test_weights_of_nothing_share_alike() -> None:
    assert shares([0, 0]) == [1, 1]
    assert shares([]) == []


def test_a_part_of_a_minute_in_a_long_session_is_still_seen() -> None:
    assert shares([20, 3 * 3600]) == [1, 99]


@given(st.lists(st.floats(0, 1e6), min_size=1, max_size=30))
def test_every_share_is_one_that_the_stylesheet_knows_and_more_weight_gets_no_less(
    weights: list[float],
) -> None:
    dealt = shares(weights)
    assert all(1 <= share <= 99 for share in dealt)
    in_order = [share for _, share in sorted(zip(weights, dealt, strict=True))]
    assert in_order == sorted(dealt)


def test_every_cell_stands_behind_its_share() -> None:
    parts = Cell("warm-up", "6 min", 6), Cell("step & row", "14", 14)
    assert Lane("Session", parts).stretches == [(30, parts[0]), (70, parts[1])]


def test_an_empty_lane_is_an_empty_strip() -> None:
    assert Lane("Nothing", ()).stretches == []


def test_a_cell_says_its_head_its_label_and_its_marks() -> None:
    assert Cell("Wed", "4 of 10").words == "4 of 10 Wed"
    assert Cell("M", marks=("done", "hurt")).words == "M, done, something hurt"
    assert Cell("M", marks=("done",), spoken="Monday 23").words == "Monday 23, done"


def test_the_marks_of_a_lane_are_explained_once_each() -> None:
    drawn = Lane("Week", (Cell("M", marks=("hurt", "done")), Cell("T", marks=("missed", "done"))))
    assert drawn.legend == [
        ("done", "done"), ("missed", "not done"), ("hurt", "something hurt"),
    ]  # fmt: skip
    assert Lane("Week", (Cell("M"),)).legend == []


STOPS = [Stop("step up", 1), Stop("sit to seat", 0), Stop("step down", 2)]


def test_a_pathway_runs_from_easier_to_harder_whatever_order_it_comes_in() -> None:
    drawn = pathway_lane("Single leg", STOPS, "step up")
    assert [station.x for station in drawn.stations] == [4, 50, 96]
    assert [station.here for station in drawn.stations] == [False, True, False]
    assert (drawn.label, drawn.label_share, drawn.is_placed) == ("step up", 50, True)
    assert drawn.description == "works on step up; 3 exercises from easier to harder"


def test_equally_hard_exercises_share_a_place() -> None:
    drawn = pathway_lane("Single leg", [*STOPS, Stop("side step up", 1)], "side step up")
    assert [station.here for station in drawn.stations] == [False, True, False]


def test_the_path_travelled_leads_from_where_it_began() -> None:
    drawn = pathway_lane("Single leg", STOPS, "step down", began="sit to seat")
    assert drawn.trail == (4, 96)
    assert [station.began for station in drawn.stations] == [True, False, False]
    assert drawn.description.startswith("began with sit to seat, works on step down")


def test_a_child_not_yet_placed_is_said_to_be_so() -> None:
    drawn = pathway_lane("Push", STOPS)
    assert not any(station.here for station in drawn.stations)
    assert (drawn.label, drawn.is_placed) == ("not placed yet", False)


def test_a_placement_whose_exercise_left_the_pathway_counts_as_not_placed() -> None:
    assert pathway_lane("Push", STOPS, "retired").description.startswith("not placed yet")


@pytest.mark.parametrize("count", [1, 2, 9, 40])
def test_the_name_of_the_placement_stands_above_its_mark(count: int) -> None:
    stops = [Stop(f"#{rank}", rank) for rank in range(count)]
    for rank in range(count):
        drawn = pathway_lane("Any", stops, f"#{rank}")
        assert drawn.label_share == pytest.approx(drawn.stations[rank].x, abs=0.5)
