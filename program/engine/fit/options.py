"""What a coach can choose by hand for one child in one slot, and what stands in the way."""

from dataclasses import dataclass

from program.engine.fit.library import FitExercise, FitLibrary
from program.engine.fit.limits import FitChild, HardLimits
from program.engine.fit.reasons import Reason


@dataclass(frozen=True, slots=True)
class Option:
    """An exercise and the hard limits it would break for this child; () may be chosen.

    Ground contacts depend on the rest of the session and are not looked at here: a choice that
    would pass the ceiling comes back as the coach's to decide.
    """

    exercise: FitExercise
    broken: tuple[Reason, ...]
    is_on_pathway: bool


def options_for(written: str, child: FitChild, library: FitLibrary) -> tuple[Option, ...]:
    """All exercises in use: those of the written one's pathway from easy to hard, then the rest
    by name."""
    limits = HardLimits(child)
    pathway = library.pathway_of(written, child.placements)
    graph = library.graphs.get(pathway.slug) if pathway else None
    on_pathway = graph.members if graph else frozenset()

    def order(exercise: FitExercise) -> tuple[bool, int, str]:
        is_near = graph is not None and exercise.slug in on_pathway
        rank = graph.rank(exercise.slug) if graph and is_near else 0
        return not is_near, rank, exercise.name

    return tuple(
        Option(exercise, limits.broken_by(exercise), exercise.slug in on_pathway)
        for exercise in sorted(library.exercises, key=order)
        if exercise.is_available
    )
