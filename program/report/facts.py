"""What a report is made of, read for several children of a block in a fixed number of queries."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from django.db.models import Case, Q, When
from django.utils import timezone

from athletes.models import Child, Placement, Restriction
from library.graph import PathwayGraph
from library.shared.lanes import PathwayLane, Stop, pathway_lane
from program.common.library_snapshot import LibrarySnapshot, library_snapshot, step_tests
from program.engine.attendance import CouldNot, Due, adherence, told
from program.engine.report import Facts, Journey, Practised, Stand, drawn, written
from program.models import (
    AssignedSession,
    AssignedSlot,
    Attendance,
    Block,
    CompletionState,
    EarlierReport,
    PainReport,
    Presence,
    Report,
)

_DID = (CompletionState.DONE, CompletionState.PARTLY)


@dataclass(frozen=True)
class Path:
    """A pathway as it is drawn in a report: every exercise with its rank, and the path travelled.

    Kept with the report, so that the library may change under it.
    """

    name: str
    stops: tuple[tuple[str, int], ...]
    began: str
    here: str

    @property
    def lane(self) -> PathwayLane:
        stops = [Stop(name, rank) for name, rank in self.stops]
        return pathway_lane(self.name, stops, placed=self.here, began=self.began)


def paths_of(report: Report | EarlierReport) -> list[Path]:
    """Those of a report, as they were when it was written."""
    return [Path(**each) for each in report.written.get("paths", ())]


def pages_of(block: Block, children: Sequence[Child], today: dt.date) -> dict[int, dict[str, Any]]:
    """By child, what `Report.written` holds: the paragraphs, and the pathways travelled."""
    rows = _read(block, children, today)
    return {child.pk: rows.page(child) for child in children}


@dataclass(frozen=True)
class _Rows:
    """What was read about the children, by child."""

    today: dt.date
    library: LibrarySnapshot
    tests: Mapping[tuple[str, str, str], str]
    due: Mapping[int, list[Due]]
    done: Mapping[int, Counter[tuple[str, str]]]
    stands: Mapping[int, dict[str, list[str]]]
    restricted: frozenset[int]
    hurt: frozenset[int]
    unanswered: frozenset[int]
    came: Counter[int]

    def page(self, child: Child) -> dict[str, Any]:
        journeys = {slug: self._journey(child, slug, s) for slug, s in self._ways(child)}
        counts: Counter[str] = Counter()
        for (_, name), times in self.done[child.pk].items():
            counts[name] += times
        facts = Facts(
            given_name=child.given_name,
            sessions=sum(1 for each in self.due[child.pk] if each.told in _DID),
            came_of_it=adherence(self.due[child.pk], self.today),
            practised=tuple(Practised(name, times) for name, times in counts.items()),
            journeys=tuple(journeys.values()),
            waits=child.pk in self.restricted | self.unanswered or child.grows_fast_on(self.today),
            hurt=child.pk in self.hurt,
            came_all_the_same=self.came[child.pk],
        )
        slugs = {journey.pathway: slug for slug, journey in journeys.items()}
        paths = [self._path(slugs[each.pathway], each) for each in drawn(facts.journeys)]
        return asdict(written(facts)) | {"paths": [asdict(path) for path in paths]}

    def _ways(self, child: Child) -> list[tuple[str, list[str]]]:
        """The pathways that something practised stands on, or along which the child moved, each
        with the exercises it worked on, oldest first."""
        practised = {slug for slug, _ in self.done[child.pk]}
        return [
            (slug, stands)
            for slug, stands in sorted(self.stands[child.pk].items())
            if len(set(stands)) > 1 or practised & set(self._graph(slug).members)
        ]

    def _graph(self, slug: str) -> PathwayGraph:
        return self.library.fit.graphs[slug]

    def _name(self, exercise: str) -> str:
        return self.library.fit.names[exercise]

    def _pathway_name(self, slug: str) -> str:
        return next(each.name for each in self.library.fit.pathways if each.slug == slug)

    def _journey(self, child: Child, slug: str, stands: Sequence[str]) -> Journey:
        graph, here = self._graph(slug), stands[-1]
        beyond = self.library.fit.beyond(graph, here, child.age_on(self.today), up=True)
        follows = beyond[0] if beyond else ""
        return Journey(
            self._pathway_name(slug),
            tuple(Stand(self._name(each), graph.rank(each)) for each in stands),
            self._name(follows) if follows else "",
            self.tests.get((slug, here, follows), ""),
            sum(n for (each, _), n in self.done[child.pk].items() if each in graph),
        )

    def _path(self, slug: str, journey: Journey) -> Path:
        graph = self._graph(slug)
        offered = [each for each in graph.members if each in self.library.fit.by_slug]
        stops = sorted((graph.rank(each), self._name(each)) for each in offered)
        named = tuple((name, rank) for rank, name in stops)
        return Path(journey.pathway, named, journey.began.name, journey.here.name)


def _read(block: Block, children: Sequence[Child], today: dt.date) -> _Rows:
    library = library_snapshot()
    last = min(block.ends_on, today)
    restricted = Restriction.objects.in_force(today).filter(child__in=children)
    hurt, unanswered = _hurt(block, children, last)
    return _Rows(
        today=today,
        library=library,
        tests=step_tests(library.stamp),
        due=_due(block, children, last),
        done=_done(block, children, last),
        stands=_stands(library, children, block.starts_on, last),
        restricted=frozenset(restricted.values_list("child", flat=True)),
        hurt=hurt,
        unanswered=unanswered,
        came=_came_all_the_same(block, children, last),
    )


def _came_all_the_same(block: Block, children: Iterable[Child], last: dt.date) -> Counter[int]:
    """How often each was in the hall without a session of the block."""
    noted = Attendance.objects.without_a_session().filter(
        session__block=block, session__date__lte=last, child__in=children, presence=Presence.THERE
    )
    return Counter(noted.order_by().values_list("child", flat=True))


def _hurt(
    block: Block, children: Iterable[Child], last: dt.date
) -> tuple[frozenset[int], frozenset[int]]:
    """Of whom pain was reported in the block's sessions or in its days, and of whom some report
    still waits for an answer."""
    of_block = Q(assigned_session__session__block=block) | Q(
        reported_at__date__range=(block.starts_on, last)
    )
    rows = list(
        PainReport.objects.standing()
        .filter(child__in=children)
        .annotate(is_of_block=Case(When(of_block, then=True), default=False))
        .filter(Q(is_of_block=True) | Q(answered_at__isnull=True))
        .order_by()
        .values_list("child", "is_of_block", "answered_at")
    )
    return (
        frozenset(child for child, is_of_block, _ in rows if is_of_block),
        frozenset(child for child, _, answered_at in rows if answered_at is None),
    )


def _due(block: Block, children: Iterable[Child], last: dt.date) -> dict[int, list[Due]]:
    given: Any = AssignedSession.objects.filter(
        session__block=block, child__in=children, date__lte=last
    ).with_could_not()
    rows = given.values_list(
        "child", "pk", "date", "completion__state", "completion__absence", "could_not"
    )
    found: dict[int, list[Due]] = defaultdict(list)
    for child, pk, on, state, absence, could_not in rows:
        found[child].append(Due(pk, on, told(state or "", absence or ""), CouldNot(could_not)))
    return found


def _done(
    block: Block, children: Iterable[Child], last: dt.date
) -> dict[int, Counter[tuple[str, str]]]:
    """By child, in how many sessions each exercise was done; slugs with names."""
    slots = AssignedSlot.objects.filter(
        assigned_session__session__block=block,
        assigned_session__child__in=children,
        assigned_session__date__lte=last,
        assigned_session__completion__state__in=_DID,
    ).values_list(
        "assigned_session__child",
        "assigned_session",
        "revision__exercise__slug",
        "revision__name",
        "results__state",
        "results__took_easier",
        "easier_revision__exercise__slug",
        "easier_revision__name",
    )
    seen: dict[int, set[tuple[int, str, str]]] = defaultdict(set)
    for child, session, slug, name, state, easier, easier_slug, easier_name in slots:
        if state != CompletionState.NOT_DONE:
            exercise = (easier_slug, easier_name) if easier and easier_slug else (slug, name)
            seen[child].add((session, *exercise))
    found: dict[int, Counter[tuple[str, str]]] = defaultdict(Counter)
    for child, those in seen.items():
        found[child] = Counter((slug, name) for _, slug, name in those)
    return found


def _stands(
    library: LibrarySnapshot, children: Iterable[Child], first: dt.date, last: dt.date
) -> dict[int, dict[str, list[str]]]:
    """By child and pathway, the exercises it was placed on in these days, the oldest first. What
    the pathway no longer holds is left out, and where a group was started and nobody had seen it.
    """
    placements = Placement.objects.filter(child__in=children, is_seen=True)
    rows = placements.order_by("placed_at", "pk").values_list(
        "child", "pathway__slug", "exercise__slug", "placed_at", "ended_at"
    )
    found: dict[int, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for child, pathway, exercise, placed_at, ended_at in rows:
        graph = library.fit.graphs.get(pathway)
        if graph is None or exercise not in graph or exercise not in library.fit.by_slug:
            continue
        began = timezone.localtime(placed_at).date()
        ended = timezone.localtime(ended_at).date() if ended_at else None
        if began <= last and (ended is None or ended > first):
            found[child][pathway].append(exercise)
    return found
