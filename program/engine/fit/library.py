"""What fit chooses from: exercises as far as fit must know them, and the pathways they stand on."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from library.body import Region
from library.graph import CycleError, Pair, PathwayGraph
from library.landing import ContactClass, class_counted, contacts_counted
from library.tempo import Tempo
from program.engine.dose.dose import Dose, DoseRange, Measure, Sides
from program.engine.prescription import Prescription


class Need(NamedTuple):
    """What an exercise requires, as part of a sentence, and the items of which any one meets it."""

    what: str
    items: frozenset[str]

    def is_met_by(self, kit: Collection[str]) -> bool:
        return not self.items.isdisjoint(kit)


@dataclass(frozen=True, slots=True, kw_only=True)
class FitExercise:
    """An exercise as the library has it today.

    `amounts` is in `measure`; `contacts` is per repetition, second or metre, as written: what of it
    counts, `pattern` and `no_landing_because` say with it (`library.landing`), and `contact_class`
    how hard it is. `loads` carry the work and `moves` only move or steady it; `minimum_age` is in
    completed years. A draft or retired exercise `is_available` no more. `recalled` is why nobody is
    to do it now, or "". `is_watched` where a grown-up has to be beside the child. Raises ValueError
    for amounts that are not one set's.
    """

    slug: str
    name: str
    measure: Measure
    amounts: DoseRange
    sides: Sides = Sides.BOTH
    tempo: Tempo | None = None
    pattern: str = ""
    contacts: float = 0.0
    no_landing_because: str = ""
    contact_class: str = ""
    loads: frozenset[Region] = frozenset()
    moves: frozenset[Region] = frozenset()
    needs: tuple[Need, ...] = ()
    minimum_age: int = 0
    is_available: bool = True
    recalled: str = ""
    is_watched: bool = False

    def __post_init__(self) -> None:
        self.amounts.validate(self.measure)

    @property
    def contacts_counted(self) -> float:
        """Ground contacts in one repetition, second or metre, by number or by pattern."""
        return contacts_counted(self)

    @property
    def class_counted(self) -> ContactClass:
        """How hard its ground contacts are, or count as where it does not say."""
        return class_counted(self)

    @property
    def lands(self) -> bool:
        return self.contacts_counted > 0

    def dose(self, amount: int, tempo: Tempo | None = None) -> Dose:
        """So much of this exercise, at its own tempo unless another is given.

        A tempo is ignored where repetitions are not what is counted. Raises ValueError for an
        amount that is not one set's.
        """
        counts_repetitions = self.measure is Measure.REPETITIONS
        return Dose(
            self.measure,
            amount,
            self.sides,
            (tempo or self.tempo) if counts_repetitions else None,
            self.contacts_counted,
        )

    def dose_of(self, prescription: Prescription) -> Dose:
        """What is asked of this exercise. Raises ValueError like `dose`."""
        return self.dose(prescription.amount, prescription.parsed_tempo)


@dataclass(frozen=True)
class FitPathway:
    """A pathway as stored: nobody has promised yet that its steps and laterals make sense."""

    slug: str
    name: str
    steps: frozenset[Pair]
    laterals: frozenset[Pair] = frozenset()

    @cached_property
    def members(self) -> frozenset[str]:
        return frozenset(exercise for pair in self.steps | self.laterals for exercise in pair)


@dataclass(frozen=True)
class FitLibrary:
    """The exercises and pathways that one run of fit chooses from, read once and never changed.

    A pathway that contradicts itself does not stop the others: it is in `contradictions` instead
    of `graphs`. A step or lateral may name an exercise that is not here; it is never chosen.
    """

    exercises: tuple[FitExercise, ...]
    pathways: tuple[FitPathway, ...]

    @cached_property
    def by_slug(self) -> dict[str, FitExercise]:
        return {exercise.slug: exercise for exercise in self.exercises}

    @cached_property
    def names(self) -> dict[str, str]:
        return {exercise.slug: exercise.name for exercise in self.exercises}

    @cached_property
    def graphs(self) -> dict[str, PathwayGraph]:
        """By slug, the pathways that can be reasoned about."""
        return {
            slug: graph for slug, graph in self._read.items() if not isinstance(graph, CycleError)
        }

    @cached_property
    def contradictions(self) -> dict[str, CycleError]:
        """By slug, what is wrong with the pathways that contradict themselves."""
        return {slug: error for slug, error in self._read.items() if isinstance(error, CycleError)}

    def pathway_of(self, exercise: str, placements: Mapping[str, str]) -> FitPathway | None:
        """The pathway on which an exercise is fitted; None if it stands on none.

        Of several, one on which the child is placed; then one that makes sense; then by slug.
        """

        def preference(pathway: FitPathway) -> tuple[bool, bool, str]:
            is_placed = placements.get(pathway.slug) in pathway.members
            return not is_placed, pathway.slug in self.contradictions, pathway.slug

        return min(self._pathways_by_exercise.get(exercise, ()), key=preference, default=None)

    def beyond(self, graph: PathwayGraph, exercise: str, age: int, *, up: bool) -> list[str]:
        """The exercises one step up or down from one or from what is as hard, of those in use and
        for this age; the nearest by rank first."""
        here = {exercise, *graph.beside(exercise)}
        ends = ((easier, harder) if up else (harder, easier) for easier, harder in graph.steps)
        found = {
            there
            for start, there in ends
            if start in here
            and (candidate := self.by_slug.get(there))
            and candidate.is_available
            and not candidate.recalled
            and (candidate.minimum_age or 0) <= age
        }
        return sorted(found, key=lambda slug: (graph.rank(slug) * (1 if up else -1), slug))

    @cached_property
    def _read(self) -> dict[str, PathwayGraph | CycleError]:
        return {pathway.slug: _graph_or_error(pathway) for pathway in self.pathways}

    @cached_property
    def _pathways_by_exercise(self) -> dict[str, list[FitPathway]]:
        found: dict[str, list[FitPathway]] = {}
        for pathway in self.pathways:
            for exercise in pathway.members:
                found.setdefault(exercise, []).append(pathway)
        return found


def _graph_or_error(pathway: FitPathway) -> PathwayGraph | CycleError:
    try:
        return PathwayGraph.build(pathway.slug, pathway.steps, pathway.laterals)
    except CycleError as error:
        return error
