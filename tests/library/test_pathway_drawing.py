"""A drawn pathway, measured: nothing missing, nothing overlapping, every step going down."""

from itertools import pairwise

from hypothesis import given

from library.graph import PathwayGraph
from library.pathway_drawing import ladder
from library.shared.lanes import PADDING, ROOM
from library.shared.text_width import text_width
from tests.support.pathways import pathways

NAMES = {letter: f"{letter.upper()} split squat with a hand hold" for letter in "abcdefghijkl"}


def test_a_small_pathway_by_hand():
    """a leads to b and c, which are as hard as each other; d stands alone on the first level."""
    graph = PathwayGraph.build("p", [("a", "b"), ("a", "c")], [("b", "c")], "abcd")
    drawn = ladder(graph, {letter: letter for letter in "abcd"})
    assert [[place.slug for place in box.places] for box in drawn.boxes] == [
        ["a"],
        ["d"],
        ["b", "c"],
    ]
    assert [rung.number for rung in drawn.rungs] == [1, 2]
    first, alone, pair = drawn.boxes
    assert first.y == alone.y < first.bottom < pair.y
    assert pair.x == first.x
    assert [(climb.x1, climb.y1, climb.y2) for climb in drawn.climbs] == [
        (first.places[0].middle, first.bottom, pair.y)
    ] * 2
    assert [climb.x2 for climb in drawn.climbs] == [place.middle for place in pair.places]


@given(pathways())
def test_every_exercise_is_drawn_once_inside_the_drawing(graph):
    drawn = ladder(graph, NAMES)
    assert sorted(place.slug for box in drawn.boxes for place in box.places) == sorted(
        graph.members
    )
    for box in drawn.boxes:
        assert 0 <= box.x < box.x + box.width <= 100.1
        assert 0 <= box.y < box.bottom <= drawn.height
        for place in box.places:
            assert " ".join(line.text for line in place.lines) == NAMES[place.slug]
            assert all(box.y < line.y < box.bottom for line in place.lines)


@given(pathways())
def test_boxes_of_one_row_stand_side_by_side_and_rows_below_each_other(graph):
    boxes = ladder(graph, NAMES).boxes
    for left, right in pairwise(boxes):
        assert left.x + left.width < right.x if left.y == right.y else left.bottom < right.y


@given(pathways())
def test_every_name_fits_its_place(graph):
    for box in ladder(graph, NAMES).boxes:
        for place in box.places:
            widest = max(text_width(line.text) for line in place.lines)
            assert widest + 2 * PADDING <= place.width * ROOM / 100 + 0.01


@given(pathways())
def test_every_step_is_a_line_down(graph):
    drawn = ladder(graph, NAMES)
    assert len(drawn.climbs) == len(graph.steps)
    assert all(climb.y1 < climb.y2 for climb in drawn.climbs)


@given(pathways())
def test_a_box_holds_only_what_is_equally_hard_and_all_of_it_if_there_is_room(graph):
    """Names of one letter: two dozen of them would fit a row."""
    for box in ladder(graph, {letter: letter for letter in NAMES}).boxes:
        first, *others = (place.slug for place in box.places)
        assert set(others) == graph.beside(first)
