"""The way a child has come on each pathway: where it stood before, where it stands now, and why."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from athletes.models import Child, Placement
from athletes.placement_board import trouble_with
from library.graph import PathwayGraph
from library.shared.lanes import PathwayLane, Stop, pathway_lane
from program.common.library_snapshot import library_snapshot
from program.engine.fit.library import FitLibrary

if TYPE_CHECKING:
    from athletes.models import User


@dataclass(frozen=True)
class PathwayHistory:
    """One pathway. `placements` are the newest first; `lane` is None where the pathway contradicts
    itself. `trouble` says why something needs a decision; empty where all is in order."""

    name: str
    lane: PathwayLane | None
    placements: Sequence[Placement]
    trouble: str = ""

    @property
    def current(self) -> Placement | None:
        return next((each for each in self.placements if each.ended_at is None), None)

    @property
    def raised_by(self) -> int:
        """How much more than written the child does, in the exercise's measure; 0 for nothing."""
        raised = getattr(self.current, "dose_raise", None)
        return raised.amount if raised else 0


@dataclass(frozen=True)
class ChildPathways:
    """Every pathway the child has ever been placed on, by name, and the names of the others."""

    histories: Sequence[PathwayHistory]
    not_placed_on: Sequence[str]

    @property
    def not_seen(self) -> int:
        """On how many of them nobody has seen the child where it was started."""
        current = (each.current for each in self.histories)
        return sum(placement is not None and not placement.is_seen for placement in current)


def pathways_of(user: "User", child: Child) -> ChildPathways:
    """Two queries, and the whole library where this process has not read it yet."""
    history: dict[str, list[Placement]] = defaultdict(list)
    placements = Placement.objects.visible_to(user).filter(child=child).with_names()
    for each in placements.select_related("dose_raise").order_by("-placed_at", "-pk"):
        history[each.pathway.slug].append(each)
    library = library_snapshot().fit
    found = [
        PathwayHistory(
            those[0].pathway.name,
            _lane(those, library.graphs.get(slug), library.names),
            those,
            _trouble(those, library),
        )
        for slug, those in history.items()
    ]
    others = (each.name for each in library.pathways if each.slug not in history)
    return ChildPathways(sorted(found, key=lambda each: each.name), sorted(others))


def _trouble(placements: Sequence[Placement], library: FitLibrary) -> str:
    slug = placements[0].pathway.slug
    if slug in library.contradictions:
        return library.contradictions[slug].of_this_pathway(library.names)
    current = next((each for each in placements if each.ended_at is None), None)
    if current is None:
        return ""
    return trouble_with(current, is_on_pathway=current.exercise.slug in library.graphs[slug])


def _lane(
    placements: Sequence[Placement], graph: PathwayGraph | None, names: Mapping[str, str]
) -> PathwayLane | None:
    if graph is None:
        return None
    current = next((each for each in placements if each.ended_at is None), None)
    stops = [Stop(names.get(slug, slug), graph.rank(slug)) for slug in sorted(graph.members)]
    return pathway_lane(
        placements[0].pathway.name,
        stops,
        str(current.exercise) if current else None,
        began=str(placements[-1].exercise),
    )
