"""A pathway as a child is placed on it: its published exercises, easiest first."""

from collections.abc import Iterable
from dataclasses import dataclass

from library.graph import CycleError, PathwayGraph
from library.models import Exercise, Pathway
from library.pathway_graph import exercises_on, graph_of


@dataclass(frozen=True)
class Rung:
    """An exercise a child can be placed on. Equal ranks are as many steps from the start;
    `alternative` says that it is as hard as the rung before it."""

    exercise: Exercise
    rank: int
    alternative: bool = False


@dataclass(frozen=True)
class Ladder:
    """`trouble` says in plain words what is wrong with the pathway, if it contradicts itself."""

    pathway: Pathway
    rungs: tuple[Rung, ...]
    trouble: str = ""

    def __contains__(self, exercise: Exercise) -> bool:
        return any(rung.exercise == exercise for rung in self.rungs)

    def find(self, slug: str) -> Exercise | None:
        return next((r.exercise for r in self.rungs if r.exercise.slug == slug), None)


def ladder_of(pathway: Pathway) -> Ladder:
    """The ladder of a pathway fetched `with_graph()`; asks the database nothing."""
    exercises = exercises_on(pathway)
    offered = [e for e in exercises.values() if e.is_published]
    try:
        graph = graph_of(pathway)
    except CycleError as error:
        names = {slug: str(exercise) for slug, exercise in exercises.items()}
        rungs = tuple(Rung(exercise, 0) for exercise in sorted(offered, key=str))
        return Ladder(pathway, rungs, f"This pathway contradicts itself: {error.in_words(names)}.")
    return Ladder(pathway, tuple(_in_order(offered, graph)))


def _in_order(offered: Iterable[Exercise], graph: PathwayGraph) -> Iterable[Rung]:
    before: Exercise | None = None
    for exercise in sorted(offered, key=lambda e: _place(e, graph)):
        alternative = before is not None and before.slug in graph.beside(exercise.slug)
        yield Rung(exercise, graph.rank(exercise.slug), alternative)
        before = exercise


def _place(exercise: Exercise, graph: PathwayGraph) -> tuple[int, list[str], str]:
    """By rank, and within it those that are equally hard next to each other."""
    equals = sorted({exercise.slug, *graph.beside(exercise.slug)})
    return graph.rank(exercise.slug), equals, exercise.slug
