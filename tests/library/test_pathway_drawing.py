"""A drawn pathway, measured: nothing missing, nothing overlapping, every step going down."""

from itertools import pairwise

from hypothesis import given

from library.graph import PathwayGraph
from library.pathway_drawing import GAP, MOST, Climb, Ladder, ladder
from tests.support.pathways import pathways

NAMES = {letter: f"{letter.upper()} split squat with a hand hold" for letter in "abcdefghijkl"}


def slugs(drawn: Ladder) -> list[list[list[str]]]:
    return [[[place.slug for place in box] for box in row.boxes] for row in drawn.rows]


def middles(drawn: Ladder) -> dict[str, tuple[int, float]]:
    """Of every exercise its row and its middle."""
    return {
        place.slug: (index, place.middle)
        for index, row in enumerate(drawn.rows)
        for box in row.boxes
        for place in box
    }


def test_a_small_pathway_by_hand():
    """a leads to b and c, which are as hard as each other; d stands alone on the first level."""
    graph = PathwayGraph.build("p", [("a", "b"), ("a", "c")], [("b", "c")], "abcd")
    drawn = ladder(graph, NAMES)
    assert slugs(drawn) == [[["a"], ["d"]], [["b", "c"]]]
    assert drawn.levels == 2
    first, second = drawn.rows
    assert [place.middle for box in first.boxes for place in box] == [23.5, 76.5]
    assert [place.middle for box in second.boxes for place in box] == [25, 75]
    assert first.below == (Climb(23.5, 25, arrives=True), Climb(23.5, 75, arrives=True))
    assert second.below == ()


def test_a_step_across_a_row_goes_on_behind_its_boxes():
    """a leads to b, b to c, and a straight to c."""
    graph = PathwayGraph.build("p", [("a", "b"), ("b", "c"), ("a", "c"), ("a", "d")], [], "abcd")
    drawn = ladder(graph, NAMES)
    first, second, third = drawn.rows
    assert slugs(drawn) == [[["a"]], [["b"], ["d"]], [["c"]]]
    assert first.below[1] == Climb(50, 50, arrives=False)
    assert second.behind == (Climb(50, 50, arrives=False),)
    assert Climb(50, 50, arrives=True) in second.below
    assert (third.behind, third.below) == ((), ())


def test_a_level_that_is_too_wide_goes_on_in_a_row_of_about_the_same_size():
    four = PathwayGraph.build("p", [], [("a", "b"), ("b", "c"), ("c", "d")], "abcd")
    drawn = ladder(four, NAMES)
    assert slugs(drawn) == [[["a", "b"]], [["c", "d"]]]
    assert [(row.level, row.begins_level, row.ends_level) for row in drawn.rows] == [
        (1, True, False),
        (1, False, True),
    ]


def test_nothing_to_draw_has_no_level():
    assert ladder(PathwayGraph.build("p", [], [], ""), {}) == Ladder(())
    assert Ladder(()).levels == 0


@given(pathways())
def test_every_exercise_is_drawn_once_with_its_name(graph):
    drawn = ladder(graph, NAMES)
    places = [place for row in drawn.rows for box in row.boxes for place in box]
    assert sorted(place.slug for place in places) == sorted(graph.members)
    assert all(place.name == NAMES[place.slug] for place in places)


@given(pathways())
def test_the_places_of_a_row_are_alike_and_stand_side_by_side(graph):
    for row in ladder(graph, NAMES).rows:
        count = sum(map(len, row.boxes))
        width = (100 - GAP * (len(row.boxes) - 1)) / count
        assert count <= MOST
        end = 0.0
        for box in row.boxes:
            for place in box:
                assert abs(place.middle - width / 2 - end) < 0.05
                end = place.middle + width / 2
            end += GAP
        assert abs(end - GAP - 100) < 0.05


@given(pathways())
def test_rows_stand_in_the_order_of_their_levels_and_the_first_of_each_bears_its_number(graph):
    drawn = ladder(graph, NAMES)
    for row in drawn.rows:
        assert {graph.rank(place.slug) + 1 for box in row.boxes for place in box} == {row.level}
    for upper, lower in pairwise(drawn.rows):
        assert upper.level <= lower.level
        assert upper.ends_level == lower.begins_level == (upper.level < lower.level)
    assert [row.level for row in drawn.rows if row.begins_level] == list(range(1, drawn.levels + 1))


@given(pathways())
def test_every_step_is_a_line_down_without_a_break(graph):
    """Walked from the easier exercise, piece by piece, each begins where the last one ended."""
    drawn = ladder(graph, NAMES)
    where = middles(drawn)
    for easier, harder in graph.steps:
        (start, x), (end, to) = where[easier], where[harder]
        assert start < end
        layers = [drawn.rows[start].below]
        for row in drawn.rows[start + 1 : end]:
            layers += [row.behind, row.below]
        reached = {x}
        for climbs in layers:
            arriving = climbs is layers[-1]
            reached = {c.x2 for c in climbs if c.arrives == arriving and c.x1 in reached}
        assert to in reached
    pieces = sum(2 * (where[high][0] - where[low][0]) - 1 for low, high in graph.steps)
    assert sum(len(row.behind) + len(row.below) for row in drawn.rows) == pieces


@given(pathways())
def test_a_box_holds_only_what_is_equally_hard_and_all_of_it_if_there_is_room(graph):
    for row in ladder(graph, NAMES).rows:
        for box in row.boxes:
            first, *others = (place.slug for place in box)
            equals = graph.beside(first)
            assert set(others) <= equals
            if len(equals) < MOST:
                assert set(others) == equals
