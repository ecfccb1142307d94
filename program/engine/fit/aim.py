"""What a rule is after for one child, before anybody asks whether it is possible."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final, NamedTuple

from library.graph import Direction, PathwayGraph
from program.engine.fit.reasons import ReasonCode


class Rule(StrEnum):
    """What the coach lets fit do with a slot. Hard limits move it under every rule.

    AS_WRITTEN gives it to all, wherever they are placed. EASIER_WHERE_NEEDED goes down to the
    placement of a child who is not there yet. MEET_PLACEMENT goes to the placement, down or up.
    """

    AS_WRITTEN = "as_written"
    EASIER_WHERE_NEEDED = "easier_where_needed"
    MEET_PLACEMENT = "meet_placement"


class Aim(NamedTuple):
    """The `target`, and the `reach`: what the rule lets this child get in its place.

    The target need not be within reach: then something near it will have to do. `why` says what
    moved the target off the written exercise, or what kept it from moving; None for nothing.
    """

    target: str
    reach: frozenset[str]
    why: ReasonCode | None = None


def aim(
    graph: PathwayGraph,
    written: str,
    placement: str | None,
    rule: Rule,
    *,
    max_steps_up: int,
    nothing_harder: ReasonCode | None,
) -> Aim:
    """What a rule is after for a child at a placement, None for a child without one.

    `written` and `placement` are members of the pathway and joined by it. `max_steps_up`, 0 or
    more, counts from the written exercise and limits MEET_PLACEMENT alone. `nothing_harder` is
    why no step up is allowed at all; None where it is.
    """
    if placement is None:
        return Aim(written, graph.within_reach(written))
    match rule:
        case Rule.AS_WRITTEN:
            return Aim(written, _below_both(graph, written, placement) | {written})
        case Rule.EASIER_WHERE_NEEDED:
            return _easier_where_needed(graph, written, placement)
        case Rule.MEET_PLACEMENT if nothing_harder and max_steps_up > 0:
            met = _meet_placement(graph, written, placement, 0)
            held_back = met.why is ReasonCode.STEPS_LIMITED
            return met._replace(why=nothing_harder) if held_back else met
        case Rule.MEET_PLACEMENT:
            return _meet_placement(graph, written, placement, max_steps_up)


def _below_both(graph: PathwayGraph, written: str, placement: str) -> frozenset[str]:
    return graph.within_reach(written) & graph.within_reach(placement)


def _easier_where_needed(graph: PathwayGraph, written: str, placement: str) -> Aim:
    reach = _below_both(graph, written, placement)
    if written in graph.harder_than(placement):
        return Aim(placement, reach, ReasonCode.BEYOND_PLACEMENT)
    return Aim(written, reach)


_PLACED: Final[Mapping[Direction, ReasonCode | None]] = {
    Direction.SAME: None,
    Direction.EASIER: ReasonCode.BEYOND_PLACEMENT,
    Direction.BESIDE: ReasonCode.PLACED_BESIDE,
    Direction.APART: ReasonCode.PLACED_BESIDE,
    Direction.HARDER: ReasonCode.READY_FOR_MORE,
}


def _meet_placement(graph: PathwayGraph, written: str, placement: str, max_steps_up: int) -> Aim:
    low_enough = {
        exercise for exercise in graph.members if graph.steps_up(written, exercise) <= max_steps_up
    }
    reach = graph.within_reach(placement) & low_enough
    if placement in low_enough:
        return Aim(placement, reach, _PLACED[graph.direction(placement, seen_from=written)])
    on_the_way = graph.harder_than(written) & graph.easier_than(placement) & low_enough
    nearest = (exercise for exercise in graph.nearest(placement) if exercise in on_the_way)
    return Aim(next(nearest, written), reach, ReasonCode.STEPS_LIMITED)
