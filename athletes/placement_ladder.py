"""A pathway as a child is placed on it: its published exercises, easiest first."""

from collections.abc import Iterable
from dataclasses import dataclass

from library.graph import CycleError, PathwayGraph
from library.models import Exercise, Pathway
from library.pathway_graph import exercises_on, graph_of


@dataclass(frozen=True)
class Rung:
    """An exercise a child can be placed on. Equal ranks are as many steps from the start;
    `alternative` says that it is as hard as the rung before it. `easier` and `harder` are the
    nearest that steps lead down and up to, never one beside it or on another branch."""

    exercise: Exercise
    rank: int
    alternative: bool = False
    easier: Exercise | None = None
    harder: Exercise | None = None


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
        return Ladder(pathway, rungs, error.of_this_pathway(names))
    return Ladder(pathway, tuple(_in_order(offered, graph)))


def _in_order(offered: Iterable[Exercise], graph: PathwayGraph) -> Iterable[Rung]:
    by_slug = {exercise.slug: exercise for exercise in offered}

    def nearest(here: str, among: frozenset[str]) -> Exercise | None:
        return next((by_slug[s] for s in graph.nearest(here) if s in among and s in by_slug), None)

    before: Exercise | None = None
    for exercise in sorted(by_slug.values(), key=lambda e: _place(e, graph)):
        slug = exercise.slug
        yield Rung(
            exercise,
            graph.rank(slug),
            alternative=before is not None and before.slug in graph.beside(slug),
            easier=nearest(slug, graph.easier_than(slug)),
            harder=nearest(slug, graph.harder_than(slug)),
        )
        before = exercise


def _place(exercise: Exercise, graph: PathwayGraph) -> tuple[int, list[str], str]:
    """By rank, and within it those that are equally hard next to each other."""
    equals = sorted({exercise.slug, *graph.beside(exercise.slug)})
    return graph.rank(exercise.slug), equals, exercise.slug
