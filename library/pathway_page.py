"""What a pathway’s page shows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.functional import cached_property

from library.graph import PathwayGraph
from library.models import Exercise, Lateral, Pathway, Step
from library.pathway_drawing import Ladder, ladder
from library.pathway_graph import exercises_on, graph_of


@dataclass(frozen=True)
class Station:
    """An exercise on a pathway, its level counted from 1, and the links that lead here."""

    exercise: Exercise
    level: int
    steps: tuple[Step, ...]
    laterals: tuple[Lateral, ...]


@dataclass(frozen=True)
class PathwayPage:
    """A pathway fetched `with_graph`."""

    pathway: Pathway

    @cached_property
    def graph(self) -> PathwayGraph:
        return graph_of(self.pathway)

    @cached_property
    def exercises(self) -> Mapping[str, Exercise]:
        return exercises_on(self.pathway)

    @property
    def drawing(self) -> Ladder:
        return ladder(self.graph, {slug: str(one) for slug, one in self.exercises.items()})

    @property
    def stations(self) -> Sequence[Station]:
        """Easiest first. A lateral stands at the first of its two exercises."""
        return [self._station(slug) for slug in sorted(self.exercises, key=self._order)]

    def _order(self, slug: str) -> tuple[int, str]:
        return self.graph.rank(slug), str(self.exercises[slug])

    def _station(self, slug: str) -> Station:
        return Station(
            exercise=self.exercises[slug],
            level=self.graph.rank(slug) + 1,
            steps=tuple(each for each in self.pathway.steps.all() if each.harder.slug == slug),
            laterals=tuple(
                each
                for each in self.pathway.laterals.all()
                if slug == min(each.one.slug, each.other.slug, key=self._order)
            ),
        )
