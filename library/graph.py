"""A pathway as a graph: what is easier, harder or beside an exercise, and how far away.

Exercises are named by their slugs. A step leads from an easier exercise to a harder one. A lateral
joins two that are equally hard, so exercises joined by laterals stand on one level, and what is
easier than one of them is easier than all: down a lateral and then down a step is down.
"""

from collections import deque
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property, partial
from graphlib import CycleError as NoOrderError
from graphlib import TopologicalSorter
from itertools import groupby
from typing import NamedTuple

type Pair = tuple[str, str]
type Level = frozenset[str]


class Direction(StrEnum):
    """Where one exercise of a pathway stands, seen from another.

    BESIDE is equally hard, by a lateral or a chain of them. APART is on another branch: nothing
    says which of the two is harder.
    """

    SAME = "same"
    EASIER = "easier"
    BESIDE = "beside"
    HARDER = "harder"
    APART = "apart"


class Link(NamedTuple):
    """One statement of a pathway: `first` is easier than `second`, or just as hard."""

    first: str
    second: str
    is_step: bool

    def in_words(self, names: Mapping[str, str]) -> str:
        relation = "is easier than" if self.is_step else "is as hard as"
        return (
            f"{names.get(self.first, self.first)} {relation} {names.get(self.second, self.second)}"
        )


class CycleError(ValueError):
    """Steps and laterals that contradict each other, so that an exercise is easier than itself."""

    def __init__(self, slug: str, links: tuple[Link, ...]) -> None:
        self.slug = slug
        self.links = links
        super().__init__(f"The pathway {slug} contradicts itself: {self.in_words()}.")

    @property
    def path(self) -> tuple[str, ...]:
        """The exercises around the contradiction, from the first one back to itself."""
        return (*(link.first for link in self.links), self.links[-1].second)

    def of_this_pathway(self, names: Mapping[str, str]) -> str:
        """The sentence for whoever has the pathway before them."""
        return f"This pathway contradicts itself: {self.in_words(names)}."

    def in_words(self, names: Mapping[str, str] | None = None) -> str:
        """ "a is easier than b, b is as hard as c, and c is easier than a", with names if given."""
        clauses = [link.in_words(names or {}) for link in self.links]
        return clauses[0] if len(clauses) == 1 else f"{', '.join(clauses[:-1])}, and {clauses[-1]}"


@dataclass(frozen=True)
class PathwayGraph:
    """One pathway: steps as (easier, harder), laterals as pairs in either order.

    `members` may name exercises that have neither step nor lateral yet. Use `build`, which takes
    any iterables. Raises CycleError where steps and laterals contradict each other. Asking about
    an exercise that is not a member is a KeyError.
    """

    slug: str
    steps: frozenset[Pair]
    laterals: frozenset[Pair]
    members: frozenset[str]

    @classmethod
    def build(
        cls,
        slug: str,
        steps: Iterable[Pair],
        laterals: Iterable[Pair] = (),
        members: Iterable[str] = (),
    ) -> "PathwayGraph":
        steps, laterals = frozenset(steps), frozenset(laterals)
        mentioned = {exercise for pair in steps | laterals for exercise in pair}
        return cls(slug, steps, laterals, frozenset(members) | mentioned)

    def __post_init__(self) -> None:
        try:
            TopologicalSorter(self._down).prepare()
        except NoOrderError:
            links = _shortest_contradiction(self.steps, self.laterals)
            raise CycleError(self.slug, links) from None

    def __contains__(self, exercise: str) -> bool:
        return exercise in self.members

    def rank(self, exercise: str) -> int:
        """How far up the pathway: the most steps that lead here from an entry, which has rank 0."""
        return self._ranks[self._level_of[exercise]]

    def beside(self, exercise: str) -> frozenset[str]:
        """The laterals of an exercise, and the laterals of those."""
        return self._level_of[exercise] - {exercise}

    def easier_than(self, exercise: str) -> frozenset[str]:
        """All exercises from which steps lead up to this one: its regressions, near and far."""
        return self._easier[self._level_of[exercise]]

    def harder_than(self, exercise: str) -> frozenset[str]:
        """All exercises to which steps lead up from this one: its progressions, near and far."""
        return self._harder[self._level_of[exercise]]

    def direction(self, exercise: str, *, seen_from: str) -> Direction:
        if exercise == seen_from:
            return Direction.SAME
        if exercise in self.easier_than(seen_from):
            return Direction.EASIER
        if exercise in self.harder_than(seen_from):
            return Direction.HARDER
        if exercise in self.beside(seen_from):
            return Direction.BESIDE
        return Direction.APART

    def distance(self, one: str, other: str) -> int | None:
        """The fewest steps and laterals between two exercises; None where nothing joins them.

        A step, up or down, counts 1 and so does a lateral: it, too, is another exercise to learn.
        """
        return self._distances[one].get(other)

    def steps_up(self, exercise: str, to: str) -> int:
        """How much harder `to` is, in steps: 0 where it is easier or beside.

        The fewest steps on the way up, as a direct step says that the way between can be skipped;
        laterals on the way count nothing. No way leads up to another branch: there the ranks are
        compared instead.
        """
        if self.direction(to, seen_from=exercise) is Direction.APART:
            return max(0, self.rank(to) - self.rank(exercise))
        return self._climbs[self._level_of[exercise]].get(self._level_of[to], 0)

    def within_reach(self, exercise: str) -> frozenset[str]:
        """What asks no more of a child than this exercise does.

        The exercise, those beside it and all that are easier; on another branch, the entries and
        those whose every regression is easier than this exercise. So nobody is sent to the middle
        of a branch because it is, by rank, as far up as another.
        """
        return self._reach[self._level_of[exercise]]

    def nearest(self, exercise: str) -> tuple[str, ...]:
        """All exercises joined to this one, itself first, in the order in which they replace it.

        The nearest come first. At one distance: easier, then beside, then the rest; among those
        the lower rank; then by slug, so that the order never depends on anything else.
        """
        return tuple(one for alike in self._nearest[exercise] for one in alike)

    def nearest_alike(self, exercise: str) -> tuple[tuple[str, ...], ...]:
        """The same, those together between which only the slug decides."""
        return self._nearest[exercise]

    @cached_property
    def _level_of(self) -> dict[str, Level]:
        joined = _both_ways(self.laterals)
        return {member: frozenset(_spread(member, joined)) for member in self.members}

    @cached_property
    def _up(self) -> dict[Level, set[Level]]:
        """The levels one step above each level."""
        return self._levels_by(self.steps)

    @cached_property
    def _down(self) -> dict[Level, set[Level]]:
        """The levels one step below each level."""
        return self._levels_by((harder, easier) for easier, harder in self.steps)

    def _levels_by(self, pairs: Iterable[Pair]) -> dict[Level, set[Level]]:
        linked: dict[Level, set[Level]] = {level: set() for level in self._level_of.values()}
        for one, other in pairs:
            linked[self._level_of[one]].add(self._level_of[other])
        return linked

    @cached_property
    def _ranks(self) -> dict[Level, int]:
        ranks: dict[Level, int] = {}
        for level in TopologicalSorter(self._down).static_order():
            ranks[level] = max((ranks[below] + 1 for below in self._down[level]), default=0)
        return ranks

    @cached_property
    def _climbs(self) -> dict[Level, dict[Level, int]]:
        """The fewest steps up from each level to those it leads to, itself at 0."""
        return {level: _spread(level, self._up) for level in self._up}

    @cached_property
    def _harder(self) -> dict[Level, frozenset[str]]:
        return {level: _members(above) - level for level, above in self._climbs.items()}

    @cached_property
    def _easier(self) -> dict[Level, frozenset[str]]:
        return {level: _members(_spread(level, self._down)) - level for level in self._down}

    @cached_property
    def _reach(self) -> dict[Level, frozenset[str]]:
        return {
            level: level | easier | self._open_branches(easier)
            for level, easier in self._easier.items()
        }

    def _open_branches(self, behind: frozenset[str]) -> frozenset[str]:
        """What a child who has left these exercises behind may begin on other branches."""
        return _members(level for level, below in self._down.items() if _members(below) <= behind)

    @cached_property
    def _distances(self) -> dict[str, dict[str, int]]:
        joined = _both_ways(self.steps | self.laterals)
        return {member: _spread(member, joined) for member in self.members}

    @cached_property
    def _nearest(self) -> dict[str, tuple[tuple[str, ...], ...]]:
        return {
            member: tuple(
                tuple(alike)
                for _, alike in groupby(
                    sorted(sorted(distances), key=partial(self._preference, member)),
                    key=partial(self._preference, member),
                )
            )
            for member, distances in self._distances.items()
        }

    def _preference(self, wanted: str, instead: str) -> tuple[int, int, int]:
        direction = self.direction(instead, seen_from=wanted)
        return (
            self._distances[wanted][instead],
            _PREFERRED.index(direction) if direction in _PREFERRED else len(_PREFERRED),
            self.rank(instead),
        )


_PREFERRED = (Direction.EASIER, Direction.BESIDE)


def _members(levels: Iterable[Level]) -> frozenset[str]:
    return frozenset[str]().union(*levels)


def _both_ways(pairs: Iterable[Pair]) -> dict[str, set[str]]:
    joined: dict[str, set[str]] = {}
    for one, other in pairs:
        joined.setdefault(one, set()).add(other)
        joined.setdefault(other, set()).add(one)
    return joined


def _spread[Place](start: Place, linked: Mapping[Place, Iterable[Place]]) -> dict[Place, int]:
    """Every place that can be reached, with the fewest links to it; the start at 0."""
    links = {start: 0}
    waiting = deque([start])
    while waiting:
        here = waiting.popleft()
        for there in linked.get(here, ()):
            if there not in links:
                links[there] = links[here] + 1
                waiting.append(there)
    return links


def _shortest_contradiction(steps: Iterable[Pair], laterals: Iterable[Pair]) -> tuple[Link, ...]:
    """The fewest links that lead from an exercise, by at least one step up, back to itself."""
    links = {Link(*step, is_step=True) for step in steps}
    links |= {Link(*pair, is_step=False) for pair in laterals}
    links |= {Link(other, one, is_step=False) for one, other in laterals}
    ways = (_way_back(step, links) for step in sorted(links) if step.is_step)
    return min((way for way in ways if way), key=len)


def _way_back(step: Link, links: Collection[Link]) -> tuple[Link, ...]:
    """The step and the fewest links from its end to its start; empty where none lead back."""
    ways: dict[str, tuple[Link, ...]] = {step.second: (step,)}
    waiting = deque([step.second])
    while waiting and step.first not in ways:
        here = waiting.popleft()
        for link in sorted(link for link in links if link.first == here):
            if link.second not in ways:
                ways[link.second] = (*ways[here], link)
                waiting.append(link.second)
    return ways.get(step.first, ())
