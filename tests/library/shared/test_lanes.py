from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.shared.lanes import ROOM, WIDE, Cell, Lane, Stop, Strip, lane, pathway_lane, shares
from library.shared.text_width import text_width

WORDS = st.text(alphabet="abcdefghij klmnop rstuvw", max_size=30) | st.sampled_from(
    ["", "6 min", "warm-up", "step & row", "hinge & reach", "crab relay"]
)
CELLS = st.lists(
    st.builds(
        Cell,
        label=WORDS,
        head=WORDS,
        weight=st.floats(0, 600),
        marks=st.sampled_from([(), ("done",), ("half", "hurt")]),
    ),
    max_size=30,
) | st.lists(st.builds(Cell, label=WORDS, weight=st.floats(1, 9)), max_size=4)


def strips(drawn: Lane) -> list[tuple[Strip, float]]:
    return [(drawn.slim, ROOM)] + ([(drawn.wide, WIDE)] if drawn.wide else [])


def test_room_is_dealt_out_by_weight() -> None:
    assert shares([6, 3, 1], [0, 0, 0], 20) == pytest.approx([12, 6, 2])


def test_nobody_gets_less_than_the_least_and_the_others_give_way_by_weight() -> None:
    # the last needs 5 of 20; 15 remain for 6 : 3
    assert shares([6, 3, 1], [0, 0, 5], 20) == pytest.approx([10, 5, 5])


def test_giving_way_may_make_the_next_one_short() -> None:
    # 17 left for 6 : 4 would give the middle one 6.8, but it needs 8
    assert shares([6, 4, 0], [0, 8, 3], 20) == pytest.approx([9, 8, 3])


def test_weights_of_nothing_share_alike() -> None:
    assert shares([0, 0], [0, 0], 20) == pytest.approx([10, 10])
    assert shares([], [], 20) == []


@given(
    st.lists(st.tuples(st.floats(0, 1e4), st.floats(0, 9)), min_size=1, max_size=30),
    st.floats(1, 60),
)
def test_shares_always_fill_the_room(pairs: list[tuple[float, float]], room: float) -> None:
    weights, least = zip(*pairs, strict=True)
    dealt = shares(weights, least, room)
    assert sum(dealt) == pytest.approx(room)
    if sum(least) < room:
        assert all(got >= wanted - 1e-9 for got, wanted in zip(dealt, least, strict=True))


@given(CELLS)
def test_words_never_leave_their_stretch_nor_overlap(cells: list[Cell]) -> None:
    for strip, room in strips(lane("Any", cells)):
        for stretch in strip.stretches:
            own = stretch.width / 100 * room
            for line in stretch.lines:
                assert text_width(line.text, strong=line.strong) <= own + 0.02
                assert 0 < line.y < strip.height
            baselines = [line.y for line in stretch.lines]
            assert all(b - a >= 1.1 for a, b in pairwise(baselines))
            if stretch.marks and stretch.lines:
                assert stretch.mark_y - 0.55 > baselines[-1]
                assert stretch.mark_y + 0.55 < strip.height


@given(CELLS)
def test_stretches_stand_side_by_side_and_fill_the_strip(cells: list[Cell]) -> None:
    for strip, _ in strips(lane("Any", cells)):
        end = 0.0
        for stretch in strip.stretches:
            assert stretch.x == pytest.approx(end, abs=0.2)
            end = stretch.x + stretch.width
        assert end == pytest.approx(100 if cells else 0, abs=0.2)


@given(CELLS)
def test_every_word_is_on_the_strip_or_in_the_key(cells: list[Cell]) -> None:
    drawn = lane("Any", cells)
    for cell, stretch in zip(cells, drawn.slim.stretches, strict=True):
        shown = " ".join(stretch.texts).split()
        assert drawn.key or shown == f"{cell.head} {cell.label}".split()
    assert all(cell.words in drawn.description for cell in cells)


def test_what_fits_stands_on_the_strip_and_needs_no_key() -> None:
    drawn = lane("Session", [Cell("warm-up", "6 min", 6), Cell("step & row", "7", 7)])
    assert [stretch.texts for stretch in drawn.slim.stretches] == [
        ("6 min", "warm-up"),
        ("7", "step & row"),
    ]
    assert drawn.key == ()
    assert drawn.wide is None


def test_what_does_not_fit_is_numbered_and_said_below() -> None:
    parts = [Cell(f"very long part number{n}", f"{n} min") for n in range(1, 7)]
    drawn = lane("Session", parts)
    assert [stretch.texts for stretch in drawn.slim.stretches] == [
        ("1",), ("2",), ("3",), ("4",), ("5",), ("6",),
    ]  # fmt: skip
    assert drawn.key[0] == "1 min very long part number1"
    assert drawn.wide is not None
    assert drawn.wide.stretches[0].texts[0] == "1 min"


def test_an_empty_lane_is_an_empty_strip() -> None:
    assert lane("Nothing", []).slim.stretches == ()


def test_marks_are_spread_about_the_middle_and_said_in_words() -> None:
    drawn = lane("Week", [Cell("M", marks=("done", "hurt")), Cell("T", marks=("missed",))])
    first, second = drawn.slim.stretches
    assert [mark.offset for mark in first.marks] == [-12, 12]
    assert [mark.offset for mark in second.marks] == [0]
    assert first.words == "M, done, something hurt"
    assert drawn.description == "M, done, something hurt; T, not done"
    assert drawn.legend == (
        ("done", "done"), ("missed", "not done"), ("hurt", "something hurt"),
    )  # fmt: skip


def test_a_lane_with_a_link_is_not_an_image() -> None:
    assert lane("Week", [Cell("M", href="/monday/")]).has_links
    assert not lane("Week", [Cell("M")]).has_links


STOPS = [Stop("step up", 1, 2), Stop("sit to seat", 0, 5), Stop("step down", 2, 1)]


def test_a_pathway_runs_from_easier_to_harder_whatever_order_it_comes_in() -> None:
    drawn = pathway_lane("Single leg", STOPS, "step up")
    assert drawn.key == (("sit to seat", False), ("step up", True), ("step down", False))
    assert [station.x for station in drawn.stations] == [4, 50, 96]
    assert [station.others for station in drawn.stations] == [5, 2, 1]
    assert [station.here for station in drawn.stations] == [False, True, False]
    assert drawn.description == "works on step up; 3 exercises from easier to harder"


def test_equally_hard_exercises_share_a_place() -> None:
    drawn = pathway_lane("Single leg", [*STOPS, Stop("side step up", 1, 4)], "side step up")
    assert [station.others for station in drawn.stations] == [5, 6, 1]


def test_a_child_not_yet_placed_is_said_to_be_so() -> None:
    drawn = pathway_lane("Push", STOPS)
    assert not any(station.here for station in drawn.stations)
    assert [line.text for line in drawn.label] == ["not placed yet"]


def test_a_placement_whose_exercise_left_the_pathway_counts_as_not_placed() -> None:
    assert pathway_lane("Push", STOPS, "retired").description.startswith("not placed yet")


@given(st.integers(1, 12), st.data(), WORDS.filter(str.strip))
def test_the_name_of_the_placement_stays_on_the_strip(
    count: int, data: st.DataObject, name: str
) -> None:
    here = data.draw(st.integers(0, count - 1))
    stops = [Stop(name if i == here else f"#{i}", i) for i in range(count)]
    drawn = pathway_lane("Any", stops, name)
    for line in drawn.label:
        width = text_width(line.text, strong=True) / ROOM * 100
        start = drawn.label_x - {"start": 0, "middle": width / 2, "end": width}[drawn.anchor]
        longest_word = max(text_width(w, strong=True) for w in name.split()) / ROOM * 100
        if longest_word <= 50:
            assert start >= -0.5
            assert start + width <= 100.5
        assert line.y < drawn.baseline
