"""An exercise's and a pathway's page as their templates read them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from library.body import Region
from library.landing import in_words
from library.models import Exercise, ExerciseNote, ExerciseRevision, Pathway, Step
from library.pathway_graph import exercises_on, graph_of
from library.revision_history import Entry, history
from library.shared.lanes import PathwayLane, Stop, pathway_lane
from library.tempo import Tempo

ONE = {"repetitions": "repetition", "seconds": "second", "metres": "metre"}


@dataclass(frozen=True)
class PathwayNeighbours:
    """One pathway, seen from an exercise on it: the next steps down and up, and what is beside.

    `far_down` and `far_up` are further along, nearest first.
    """

    pathway: Pathway
    lane: PathwayLane
    down: tuple[Step, ...]
    up: tuple[Step, ...]
    beside: tuple[Exercise, ...]
    far_down: tuple[Exercise, ...]
    far_up: tuple[Exercise, ...]


def neighbours_on(pathway: Pathway, exercise: Exercise) -> PathwayNeighbours:
    """`pathway` is fetched `with_graph` and holds the exercise."""
    graph = graph_of(pathway)
    on_it = exercises_on(pathway)
    here = exercise.slug
    down = tuple(step for step in pathway.steps.all() if step.harder_id == exercise.pk)
    up = tuple(step for step in pathway.steps.all() if step.easier_id == exercise.pk)
    beside = graph.beside(here)
    near = {step.easier.slug for step in down} | {step.harder.slug for step in up} | beside

    def further(slugs: Iterable[str]) -> tuple[Exercise, ...]:
        away = set(slugs) - near
        return tuple(on_it[slug] for slug in graph.nearest(here) if slug in away)

    stops = [Stop(str(one), graph.rank(slug)) for slug, one in on_it.items()]
    lane = pathway_lane(pathway.name, stops, placed=str(exercise))
    return PathwayNeighbours(
        pathway=pathway,
        lane=replace(
            lane,
            description=f"{exercise} is on level {graph.rank(here) + 1} of "
            f"{len(lane.stations)}, from easier to harder",
        ),
        down=down,
        up=up,
        beside=tuple(on_it[slug] for slug in sorted(beside)),
        far_down=further(graph.easier_than(here)),
        far_up=further(graph.harder_than(here)),
    )


@dataclass(frozen=True)
class ExercisePage:
    """What a coach reads about an exercise fetched `with_full_page`."""

    exercise: Exercise
    revision: ExerciseRevision
    neighbours: tuple[PathwayNeighbours, ...]
    entries: tuple[Entry, ...]
    notes: tuple[ExerciseNote, ...]

    @property
    def loads(self) -> list[str]:
        return [region.label for region in Region if region in self.revision.loads]

    @property
    def moves(self) -> list[str]:
        return [region.label for region in Region if region in self.revision.moves]

    @property
    def landings(self) -> str:
        """How often it lands and how hard, or why it does not: "1 a repetition, low", "none,
        because …"."""
        said = self.revision
        if said.lands:
            return f"{said.contacts_counted:g} a {ONE[said.measure]}, {said.class_counted.label}"
        return f"none, because {said.no_landing_because}" if said.no_landing_because else "none"

    @property
    def unsaid(self) -> str:
        """What it must say of its landings and does not, in words; "" for nothing."""
        return in_words(self.revision.unsaid)

    @property
    def lands_on_no_floor(self) -> bool:
        return self.revision.lands and not self.revision.names_a_floor

    @property
    def tempo(self) -> list[tuple[str, str]]:
        """The phases of the tempo, each with its seconds: ("lowering", "3")."""
        if not self.revision.tempo:
            return []
        names = ("lowering", "pause", "lifting", "pause at the top")
        phases = Tempo.parse(self.revision.tempo).phases
        return [(name, str(phase)) for name, phase in zip(names, phases, strict=True)]


def exercise_page(exercise: Exercise) -> ExercisePage:
    """Few queries, however much is on the page."""
    assert exercise.current is not None  # noqa: S101 -- with_full_page leaves out the others
    pathways = Pathway.objects.holding(exercise).with_graph()
    revisions = exercise.revisions.prefetch_related("needs__items")
    return ExercisePage(
        exercise=exercise,
        revision=exercise.current,
        neighbours=tuple(neighbours_on(pathway, exercise) for pathway in pathways),
        entries=tuple(history(revisions, _items_of(revisions))),
        notes=tuple(ExerciseNote.objects.standing().filter(exercise=exercise)),
    )


def _items_of(revisions: Iterable[ExerciseRevision]) -> dict[str, str]:
    """The names, by slug, of all that these revisions need; their needs are fetched."""
    needs = (need for revision in revisions for need in revision.needs.all())
    return {item.slug: item.name for need in needs for item in need.items.all()}
