"""The pathway graph: by hand on a small pathway, and against networkx on random ones."""

import dataclasses

import networkx as nx
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from library.graph import CycleError, Direction, PathwayGraph
from tests.support.pathways import pathways

# A pathway drawn by hand, easier at the bottom; ~ is a lateral.
#
#     4            archer
#     3   slow ~ close     pike
#     2         floor
#     1     sofa ~ knee
#     0     table    wall
#
PUSH = PathwayGraph.build(
    "push",
    steps=[
        ("table", "sofa"),
        ("wall", "knee"),
        ("sofa", "floor"),
        ("knee", "floor"),
        ("floor", "slow"),
        ("floor", "close"),
        ("floor", "pike"),
        ("close", "archer"),
    ],
    laterals=[("sofa", "knee"), ("slow", "close")],
)


class TestEasierAndHarder:
    def test_regressions_reach_all_the_way_down(self):
        assert PUSH.easier_than("floor") == {"sofa", "knee", "table", "wall"}

    def test_progressions_reach_all_the_way_up(self):
        assert PUSH.harder_than("floor") == {"slow", "close", "pike", "archer"}

    def test_a_lateral_and_then_a_step_down_is_down(self):
        # No step leads from the wall to the sofa; the knee push beside the sofa is the link.
        assert "wall" in PUSH.easier_than("sofa")
        assert "archer" in PUSH.harder_than("slow")

    def test_a_lateral_is_beside_and_neither_easier_nor_harder(self):
        assert PUSH.beside("slow") == {"close"}
        assert "close" not in PUSH.easier_than("slow") | PUSH.harder_than("slow")

    def test_a_chain_of_laterals_is_one_level(self):
        chain = PathwayGraph.build("x", steps=[], laterals=[("a", "b"), ("c", "b")])
        assert chain.beside("a") == {"b", "c"}

    def test_the_other_branch_is_apart(self):
        assert PUSH.direction("pike", seen_from="slow") is Direction.APART
        assert PUSH.direction("table", seen_from="wall") is Direction.APART

    @pytest.mark.parametrize(
        ("exercise", "direction"),
        [
            ("floor", Direction.SAME),
            ("wall", Direction.EASIER),
            ("archer", Direction.HARDER),
        ],
    )
    def test_direction_is_seen_from_the_other_exercise(self, exercise, direction):
        assert PUSH.direction(exercise, seen_from="floor") is direction

    def test_an_exercise_without_steps_is_a_member_that_nothing_is_near(self):
        graph = PathwayGraph.build("x", steps=[("a", "b")], members=["alone"])
        assert "alone" in graph
        assert graph.distance("a", "alone") is None
        assert graph.nearest("alone") == ("alone",)

    def test_asking_about_a_stranger_is_an_error(self):
        assert "cartwheel" not in PUSH
        with pytest.raises(KeyError):
            PUSH.rank("cartwheel")


class TestRank:
    @pytest.mark.parametrize(
        ("exercise", "rank"),
        [("table", 0), ("wall", 0), ("sofa", 1), ("floor", 2), ("pike", 3), ("archer", 4)],
    )
    def test_rank_counts_the_most_steps_from_an_entry(self, exercise, rank):
        assert PUSH.rank(exercise) == rank

    def test_the_longer_way_up_counts(self):
        graph = PathwayGraph.build("x", steps=[("a", "b"), ("b", "c"), ("a", "c")])
        assert graph.rank("c") == 2

    def test_laterals_share_a_rank_though_only_one_of_them_has_a_step(self):
        graph = PathwayGraph.build("x", steps=[("a", "b")], laterals=[("c", "b")])
        assert graph.rank("c") == graph.rank("b") == 1


class TestStepsUp:
    def test_down_and_sideways_are_no_steps_up(self):
        assert PUSH.steps_up("floor", "floor") == 0
        assert PUSH.steps_up("floor", "wall") == 0
        assert PUSH.steps_up("slow", "close") == 0

    def test_laterals_on_the_way_up_count_nothing(self):
        # wall, up to knee, over to sofa (0), up to floor, up to slow, over to close (0), archer.
        assert PUSH.steps_up("wall", "archer") == 4

    def test_a_direct_step_is_one_step_even_where_a_longer_way_exists(self):
        graph = PathwayGraph.build("x", steps=[("a", "b"), ("b", "c"), ("a", "c")])
        assert graph.steps_up("a", "c") == 1

    def test_another_branch_is_as_far_up_as_its_rank(self):
        assert PUSH.steps_up("pike", "archer") == 4 - 3
        assert PUSH.steps_up("pike", "slow") == 3 - 3
        assert PUSH.steps_up("archer", "pike") == 0


class TestReach:
    def test_easier_and_beside_are_within_reach_and_harder_is_not(self):
        assert PUSH.within_reach("sofa") == {"sofa", "knee", "table", "wall"}

    def test_a_sibling_is_within_reach_when_all_that_leads_to_it_is_left_behind(self):
        assert "pike" in PUSH.within_reach("slow")

    def test_a_sibling_is_not_within_reach_while_something_below_it_is_missing(self):
        # pike asks for the floor push, which the child placed at the sofa push has yet to learn.
        assert "pike" not in PUSH.within_reach("sofa")

    def test_the_middle_of_another_branch_is_out_of_reach_at_equal_rank(self):
        # One entry, two branches: the child on the left has never begun the right one.
        graph = PathwayGraph.build(
            "x", steps=[("in", "l1"), ("l1", "l2"), ("in", "r1"), ("r1", "r2")]
        )
        assert graph.rank("l2") == graph.rank("r2")
        assert graph.within_reach("l2") == {"in", "l1", "l2", "r1"}


class TestNearest:
    def test_replacements_come_by_distance_then_easier_then_beside_then_the_rest(self):
        # From the slow push. 1 away: floor (easier), close (beside). 2 away: sofa and knee
        # (easier, equal rank, so by slug), then archer and pike: neither easier nor beside, and
        # pike has the lower rank. 3 away: the two entries, by slug.
        assert PUSH.nearest("slow") == (
            "slow",
            "floor",
            "close",
            "knee",
            "sofa",
            "pike",
            "archer",
            "table",
            "wall",
        )

    def test_of_two_regressions_at_one_distance_the_one_of_lower_rank_comes_first(self):
        graph = PathwayGraph.build("x", steps=[("z", "top"), ("a", "b"), ("b", "top")])
        assert graph.nearest("top") == ("top", "z", "b", "a")


class TestContradictions:
    def test_a_cycle_is_refused_and_told_in_plain_words(self):
        with pytest.raises(CycleError) as refusal:
            PathwayGraph.build("squat", steps=[("a", "b"), ("b", "c"), ("c", "a"), ("c", "d")])
        assert refusal.value.path == ("a", "b", "c", "a")
        assert str(refusal.value) == (
            "The pathway squat contradicts itself: "
            "a is easier than b, b is easier than c, and c is easier than a."
        )

    def test_the_words_use_the_names_of_the_exercises(self):
        with pytest.raises(CycleError) as refusal:
            PathwayGraph.build("squat", steps=[("a", "b"), ("b", "a")])
        words = refusal.value.in_words({"a": "Half squat"})
        assert words == "Half squat is easier than b, and b is easier than Half squat"

    def test_an_exercise_cannot_be_easier_than_itself(self):
        with pytest.raises(CycleError, match="a is easier than a"):
            PathwayGraph.build("squat", steps=[("a", "a")])

    def test_an_exercise_cannot_be_as_hard_as_its_own_progression(self):
        with pytest.raises(CycleError) as refusal:
            PathwayGraph.build(
                "squat", steps=[("a", "b"), ("b", "c"), ("0", "a")], laterals=[("c", "a")]
            )
        assert refusal.value.path == ("a", "b", "c", "a")
        assert "and c is as hard as a" in str(refusal.value)

    def test_the_shortest_contradiction_is_told(self):
        steps = [("a", "b"), ("b", "c"), ("c", "a"), ("x", "y"), ("y", "x")]
        with pytest.raises(CycleError) as refusal:
            PathwayGraph.build("squat", steps=steps)
        assert refusal.value.path == ("x", "y", "x")


def merged_by_laterals(steps, laterals, members):
    """The steps as a networkx graph whose nodes are levels: sets of exercises laterals join."""
    joined = nx.Graph(laterals)
    joined.add_nodes_from(members)
    level = {one: frozenset(nx.node_connected_component(joined, one)) for one in joined}
    merged = nx.DiGraph((level[easier], level[harder]) for easier, harder in steps)
    merged.add_nodes_from(level.values())
    return merged


def levels(graph):
    return merged_by_laterals(graph.steps, graph.laterals, graph.members)


def level_of(exercise, merged):
    return next(level for level in merged if exercise in level)


@st.composite
def pathways_and_pairs(draw):
    graph = draw(pathways())
    exercises = st.sampled_from(sorted(graph.members))
    return graph, draw(exercises), draw(exercises)


class TestAgainstNetworkx:
    @given(pathways_and_pairs())
    def test_distance_is_the_shortest_path(self, case):
        graph, one, other = case
        joined = nx.Graph([*graph.steps, *graph.laterals])
        joined.add_nodes_from(graph.members)
        try:
            expected = nx.shortest_path_length(joined, one, other)
        except nx.NetworkXNoPath:
            expected = None
        assert graph.distance(one, other) == expected

    @given(pathways_and_pairs())
    def test_easier_and_harder_are_the_ancestors_and_descendants_of_the_level(self, case):
        graph, exercise, _ = case
        merged = levels(graph)
        level = level_of(exercise, merged)
        assert graph.beside(exercise) == level - {exercise}
        assert graph.easier_than(exercise) == frozenset().union(*nx.ancestors(merged, level))
        assert graph.harder_than(exercise) == frozenset().union(*nx.descendants(merged, level))

    @given(pathways_and_pairs())
    def test_rank_is_the_longest_path_to_the_level(self, case):
        graph, exercise, _ = case
        merged = levels(graph)
        level = level_of(exercise, merged)
        below = merged.subgraph(nx.ancestors(merged, level) | {level})
        assert graph.rank(exercise) == nx.dag_longest_path_length(below)

    @given(pathways_and_pairs())
    def test_steps_up_are_the_shortest_directed_path(self, case):
        graph, one, other = case
        merged = levels(graph)
        start, end = level_of(one, merged), level_of(other, merged)
        assume(nx.has_path(merged, start, end))
        assert graph.steps_up(one, other) == nx.shortest_path_length(merged, start, end)

    @given(st.data())
    def test_a_contradiction_is_found_exactly_where_networkx_finds_one(self, data):
        names = st.sampled_from("abcdef")
        steps = data.draw(st.frozensets(st.tuples(names, names), max_size=8))
        laterals = data.draw(st.frozensets(st.tuples(names, names), max_size=3))
        merged = merged_by_laterals(steps, laterals, "abcdef")
        if nx.is_directed_acyclic_graph(merged):
            PathwayGraph.build("x", steps, laterals)
            return
        with pytest.raises(CycleError) as refusal:
            PathwayGraph.build("x", steps, laterals)
        links = refusal.value.links
        assert refusal.value.path[0] == refusal.value.path[-1]
        assert any(link.is_step for link in links)
        either = laterals | {(other, one) for one, other in laterals}
        assert all(link[:2] in (steps if link.is_step else either) for link in links)


class TestOrder:
    @given(pathways_and_pairs())
    def test_direction_is_opposite_from_the_other_side(self, case):
        graph, one, other = case
        opposite = {Direction.EASIER: Direction.HARDER, Direction.HARDER: Direction.EASIER}
        there = graph.direction(one, seen_from=other)
        assert graph.direction(other, seen_from=one) is opposite.get(there, there)

    @given(pathways_and_pairs())
    def test_easier_always_has_a_lower_rank_and_beside_the_same(self, case):
        graph, one, other = case
        match graph.direction(one, seen_from=other):
            case Direction.EASIER:
                assert graph.rank(one) < graph.rank(other)
            case Direction.BESIDE | Direction.SAME:
                assert graph.rank(one) == graph.rank(other)

    @given(pathways_and_pairs())
    def test_nothing_within_reach_is_harder_and_all_below_it_is_within_reach(self, case):
        graph, one, other = case
        reach = graph.within_reach(one)
        assert reach.isdisjoint(graph.harder_than(one))
        assert {one} | graph.beside(one) | graph.easier_than(one) <= reach
        if other in reach:
            assert graph.easier_than(other) <= reach

    @given(pathways_and_pairs())
    def test_the_same_pathway_told_in_another_order_gives_the_same_answers(self, case):
        graph, one, _ = case
        again = PathwayGraph.build(
            graph.slug,
            sorted(graph.steps, reverse=True),
            [(other, first) for first, other in sorted(graph.laterals, reverse=True)],
            graph.members,
        )
        assert again.nearest(one) == graph.nearest(one)


def test_a_pathway_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        PUSH.slug = "pull"
