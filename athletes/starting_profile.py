"""Where a whole cohort begins on each pathway: by how long each child has trained here, and never
by how old it is."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Self

from django.db.models import Min

from athletes.models import Child, Cohort, Enrolment, Placement, StartingPoint
from athletes.models.starting_points import TrainingAge
from athletes.placement_ladder import Ladder, ladder_of
from library.models import Exercise, Pathway

YEAR: Final = dt.timedelta(days=365)
LONG: Final = 3
"""Years from which on it is longer than one to two."""
SHARE_OF_THE_WAY: Final = {TrainingAge.NEW: 0.0, TrainingAge.SOME: 0.25, TrainingAge.LONGER: 0.5}
"""How far up a pathway the usual start is, in steps of all its steps. House rule, no published
number stands behind it; a start that is not seen asks nothing harder of anybody."""


def training_age(began: dt.date, day: dt.date) -> TrainingAge:
    """By the first day in any cohort."""
    years = (day - began) // YEAR
    if years < 1:
        return TrainingAge.NEW
    return TrainingAge.SOME if years < LONG else TrainingAge.LONGER


@dataclass(frozen=True)
class Start:
    """`is_usual`: nobody has set another one."""

    training_age: TrainingAge
    exercise: Exercise
    is_usual: bool


@dataclass(frozen=True)
class PathwayStarts:
    """A pathway with where each training age begins on it, in their order."""

    ladder: Ladder
    starts: Sequence[Start]

    @property
    def pathway(self) -> Pathway:
        return self.ladder.pathway

    def of(self, age: TrainingAge) -> Start:
        return next(each for each in self.starts if each.training_age is age)


def starting_profile() -> list[PathwayStarts]:
    """Of every pathway that makes sense, in a fixed number of queries. What was set and is not
    offered on the pathway any more counts as not set."""
    points = StartingPoint.objects.values_list("pathway", "training_age", "exercise__slug")
    said = {(pathway, age): slug for pathway, age, slug in points}
    ladders = map(ladder_of, Pathway.objects.with_graph())
    return [
        PathwayStarts(
            ladder,
            [_start(ladder, age, said.get((ladder.pathway.pk, age))) for age in TrainingAge],
        )
        for ladder in ladders
        if ladder.rungs and not ladder.trouble
    ]


def _start(ladder: Ladder, age: TrainingAge, said: str | None) -> Start:
    usual = usual_start(ladder, age)
    exercise = (ladder.find(said) if said else None) or usual
    return Start(age, exercise, exercise == usual)


def usual_start(ladder: Ladder, age: TrainingAge) -> Exercise:
    """The first of the exercises that are so far up; `ladder` has some."""
    ranks = sorted({rung.rank for rung in ladder.rungs})
    rank = ranks[int((len(ranks) - 1) * SHARE_OF_THE_WAY[age])]
    return next(rung.exercise for rung in ladder.rungs if rung.rank == rank)


@dataclass(frozen=True)
class GroupPathway:
    """How many of a group have no placement on a pathway, and how many one that nobody has seen."""

    starts: PathwayStarts
    unplaced: int
    not_seen: int


@dataclass(frozen=True)
class Group:
    """A cohort's children and how far they are placed."""

    cohort: Cohort
    children: Sequence[Child]
    ages: Mapping[int, TrainingAge]
    profile: Sequence[PathwayStarts]
    placed: Mapping[tuple[int, int], bool]
    """By child and pathway, whether somebody has seen it."""

    @classmethod
    def of(cls, cohort: Cohort, day: dt.date) -> Self:
        """In a fixed number of queries."""
        children = list(Child.objects.enrolled_in(cohort, day))
        began = Enrolment.objects.filter(child__in=children).order_by().values_list("child")
        current = Placement.objects.current().filter(child__in=children)
        return cls(
            cohort,
            children,
            {child: training_age(first, day) for child, first in began.annotate(Min("start"))},
            starting_profile(),
            {
                (child, pathway): is_seen
                for child, pathway, is_seen in current.values_list("child", "pathway", "is_seen")
            },
        )

    @cached_property
    def pathways(self) -> list[GroupPathway]:
        return [
            GroupPathway(each, self._count(each, None), self._count(each, False))
            for each in self.profile
        ]

    def _count(self, starts: PathwayStarts, seen: bool | None) -> int:
        pathway = starts.pathway.pk
        return sum(self.placed.get((child.pk, pathway)) is seen for child in self.children)

    @property
    def unplaced(self) -> int:
        """How many have no placement on some pathway."""
        return len(self._without)

    @property
    def not_seen(self) -> int:
        """How many starts nobody has seen."""
        return sum(each.not_seen for each in self.pathways)

    @property
    def counts(self) -> list[tuple[str, int]]:
        """The training ages there are, with of how many."""
        found = Counter(self.ages[child.pk] for child in self.children)
        return [(age.label, found[age]) for age in TrainingAge if found[age]]

    @cached_property
    def _without(self) -> list[Child]:
        pathways = [each.pathway.pk for each in self.profile]
        return [
            child
            for child in self.children
            if any((child.pk, pathway) not in self.placed for pathway in pathways)
        ]

    def starts(self, counted_as: TrainingAge | None) -> dict[Child, dict[Pathway, Exercise]]:
        """Where those without a placement begin, counted as of one training age or each as of its
        own."""
        return {
            child: {
                each.pathway: each.of(counted_as or self.ages[child.pk]).exercise
                for each in self.profile
                if (child.pk, each.pathway.pk) not in self.placed
            }
            for child in self._without
        }
