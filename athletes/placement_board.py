"""All children of a cohort on one pathway, ready to be drawn as one lane."""

import datetime as dt
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from athletes.models import Child, Cohort, Placement
from athletes.placement_ladder import Ladder, Rung
from library.models import Exercise


@dataclass(frozen=True)
class Token:
    """A child on the lane, with the exercises one step down and up from its own. `trouble` says
    why the child's placement needs a decision."""

    child: Child
    placement: Placement | None = None
    easier: Exercise | None = None
    harder: Exercise | None = None
    trouble: str = ""

    @property
    def is_not_seen(self) -> bool:
        """Whether it was put there with its group, and no coach has seen it do that well."""
        return self.placement is not None and not self.placement.is_seen


@dataclass(frozen=True)
class Station:
    """An exercise with the children who work on it."""

    rung: Rung
    tokens: Sequence[Token]

    @property
    def not_seen(self) -> list[Placement]:
        return [token.placement for token in self.tokens if token.placement and token.is_not_seen]


@dataclass(frozen=True)
class Board:
    """`undecided` stand on an exercise that is no longer offered, `unplaced` nowhere yet."""

    cohort: Cohort
    ladder: Ladder
    stations: Sequence[Station]
    undecided: Sequence[Token]
    unplaced: Sequence[Token]

    @cached_property
    def tokens(self) -> list[Token]:
        placed = [token for station in self.stations for token in station.tokens]
        return [*self.undecided, *self.unplaced, *placed]

    @property
    def not_seen(self) -> list[Placement]:
        return [placement for station in self.stations for placement in station.not_seen]

    def not_seen_at(self, slug: str) -> list[Placement]:
        """On one exercise."""
        those = (each for each in self.stations if each.rung.exercise.slug == slug)
        return [placement for station in those for placement in station.not_seen]

    def token_of(self, public_id: uuid.UUID) -> Token | None:
        return next((token for token in self.tokens if token.child.public_id == public_id), None)


def board_of(cohort: Cohort, ladder: Ladder, day: dt.date) -> Board:
    """The board on a day, in two queries however many children there are."""
    children = list(Child.objects.enrolled_in(cohort, day))
    current = Placement.objects.current().filter(child__in=children, pathway=ladder.pathway)
    stands = {placement.child_id: placement for placement in current.with_names()}
    tokens = [Token(child, stands.get(child.pk)) for child in children]
    offered = {rung.exercise.pk for rung in ladder.rungs}
    return Board(
        cohort,
        ladder,
        stations=list(_stations(ladder.rungs, tokens)),
        undecided=[
            replace(
                token,
                trouble=trouble_with(token.placement, is_on_pathway=False),
            )
            for token in tokens
            if token.placement and token.placement.exercise_id not in offered
        ],
        unplaced=[token for token in tokens if token.placement is None],
    )


def trouble_with(placement: Placement, *, is_on_pathway: bool) -> str:
    """Why a placement needs a decision; empty for one that is in order."""
    exercise = placement.exercise
    if exercise.status == Exercise.Status.RETIRED:
        return f"{exercise} is retired"
    if exercise.status == Exercise.Status.DRAFT:
        return f"{exercise} is not published"
    return "" if is_on_pathway else f"{exercise} is no longer on this pathway"


def _stations(rungs: Sequence[Rung], tokens: Iterable[Token]) -> Iterable[Station]:
    tokens = list(tokens)
    for rung in rungs:
        here = [
            replace(token, easier=rung.easier, harder=rung.harder)
            for token in tokens
            if token.placement and token.placement.exercise_id == rung.exercise.pk
        ]
        yield Station(rung, here)
