"""The library in the order in which a coach looks through it: by pathway, from easy to hard."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from library.graph import Pair, PathwayGraph
from library.models import Lateral, Pathway, Pattern, Step

PATTERN_ORDER = {pattern: place for place, pattern in enumerate(Pattern.values)}


@dataclass(frozen=True)
class PathwayOrder:
    """Every pathway with its graph, in the order in which the patterns are listed."""

    pathways: tuple[tuple[Pathway, PathwayGraph], ...]

    @classmethod
    def read(cls) -> "PathwayOrder":
        """The whole shelf, in three queries however long it is."""
        steps = _pairs_by_pathway(
            Step.objects.values_list("pathway_id", "easier__slug", "harder__slug")
        )
        laterals = _pairs_by_pathway(
            Lateral.objects.values_list("pathway_id", "one__slug", "other__slug")
        )
        pathways = sorted(
            Pathway.objects.all(), key=lambda each: (PATTERN_ORDER[each.pattern], each.name)
        )
        return cls(
            tuple(
                (each, PathwayGraph.build(each.slug, steps[each.pk], laterals[each.pk]))
                for each in pathways
            )
        )

    def place_of(self, slug: str) -> tuple[int, int]:
        """Which pathway, by its place on the shelf, and how far up; past all where on none."""
        return self._places.get(slug, (len(self.pathways), 0))

    def pathway_of(self, slug: str) -> Pathway | None:
        """The first pathway on the shelf that holds the exercise."""
        place, _ = self.place_of(slug)
        return self.pathways[place][0] if place < len(self.pathways) else None

    def arranged(self, slugs: Iterable[str]) -> list[str]:
        """The same slugs by pathway and from easy to hard; equals stay in the order given."""
        return sorted(slugs, key=self.place_of)

    @cached_property
    def _places(self) -> Mapping[str, tuple[int, int]]:
        places: dict[str, tuple[int, int]] = {}
        for place, (_, graph) in enumerate(self.pathways):
            for slug in graph.members:
                places.setdefault(slug, (place, graph.rank(slug)))
        return places


def _pairs_by_pathway(rows: Iterable[tuple[int, str, str]]) -> defaultdict[int, list[Pair]]:
    pairs: defaultdict[int, list[Pair]] = defaultdict(list)
    for pathway, one, other in rows:
        pairs[pathway].append((one, other))
    return pairs
