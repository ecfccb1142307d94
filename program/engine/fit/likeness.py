"""How like one exercise is to another, where no pathway joins them: what to look at first when
something else has to be found."""

from enum import StrEnum
from typing import Final

from library.graph import Direction, PathwayGraph
from program.engine.fit.library import FitExercise

OTHER_PATTERN: Final = 2.0
OTHER_PLACES: Final = 2.0
LANDS: Final = 1.0
OTHER_SIDES: Final = 0.5
OTHER_MEASURE: Final = 0.5
"""What speaks against an exercise as a stand-in for another: a house rule. What is trained, the
pattern and the places that carry the load, counts before how it is done. Landing where nothing
landed before is never called like it for nothing."""


class Near(StrEnum):
    """How near something is to what it would replace, for whoever chooses."""

    ITSELF = "as written"
    AS_HARD = "as hard"
    EASIER = "easier"
    HARDER = "harder"
    SAME_PATHWAY = "the same pathway"
    SAME_PATTERN = "the same movement"
    SAME_PLACES = "loads the same places"
    ANOTHER_KIND = "another kind of exercise"


_ON_PATHWAY: Final = {
    Direction.EASIER: Near.EASIER,
    Direction.BESIDE: Near.AS_HARD,
    Direction.HARDER: Near.HARDER,
    Direction.APART: Near.SAME_PATHWAY,
}
ON_PATHWAY: Final = frozenset({Near.ITSELF, *_ON_PATHWAY.values()})
"""What is said of exercises of one pathway."""


def unlikeness(one: FitExercise, other: FitExercise) -> float:
    """0 for one that trains the same in the same way, at most 6. `one` is what is replaced."""
    return (
        OTHER_PATTERN * (one.pattern != other.pattern)
        + OTHER_PLACES * (1 - _shared_places(one, other))
        + LANDS * (other.lands and not one.lands)
        + OTHER_SIDES * (one.sides is not other.sides)
        + OTHER_MEASURE * (one.measure is not other.measure)
    )


def near(one: FitExercise, other: FitExercise, graph: PathwayGraph | None) -> Near:
    """How near `other` is to `one`; `graph` is the pathway of `one`, if it is on any."""
    if one.slug == other.slug:
        return Near.ITSELF
    if graph and one.slug in graph and other.slug in graph:
        return _ON_PATHWAY[graph.direction(other.slug, seen_from=one.slug)]
    if one.pattern == other.pattern:
        return Near.SAME_PATTERN
    return Near.SAME_PLACES if _shared_places(one, other) >= 0.5 else Near.ANOTHER_KIND


def _shared_places(one: FitExercise, other: FitExercise) -> float:
    """The share of all places that carry the load of one or the other which carry that of both;
    1 where neither loads anything."""
    either = one.loads | other.loads
    return len(one.loads & other.loads) / len(either) if either else 1.0
