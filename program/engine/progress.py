"""From the logs of one child on one pathway to one suggestion: move on, add, hold, step back, or
stop and ask. Pure.

A suggestion moves nothing; a coach does. It names the logs it rests on and no others. Competence
decides, not age (Lloyd et al. 2014, Br J Sports Med 48:498-505, from memory), and pain is a reason
to stop and find out (Brenner & Watson 2024, Pediatrics, doi 10.1542/peds.2023-065129).
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Final

from program.engine.load import is_far_above

IN_A_ROW: Final = 2
"""Sessions that must agree before anything is suggested: one good or bad day is a day. Two extra
repetitions in two consecutive sessions is the handbooks' "2-for-2" (from memory)."""

COMFORTABLE: Final = 3
"""The highest effort of 10 at which a child is at ease. Common practice: on the scale for whole
sessions (Foster et al. 2001, its words from memory) 3 is moderate and 4 somewhat hard. At 4 every
third child of the simulated season (`test_season.py`) was called ready for nothing."""

EXTRA: Final = 2
"""Repetitions beyond the target that show room to spare."""

SHORT_OF: Final = 0.8
"""Below this share of the target the better side has not managed it. Common practice: one
repetition less of eight is a day, two are the exercise."""

LOOKS_BACK: Final = 3
"""Sessions in which something hurt is still the answer to everything else."""

LONG_GAP: Final = dt.timedelta(days=21)
"""A break after which a child begins again where it was, at most. Common practice."""

ADDS: Final = {"repetitions": 2, "seconds": 5, "metres": 2}
"""What is added at once, in the measure. Common practice."""


class Move(StrEnum):
    MOVE_ON = "move_on"
    ADD = "add"
    HOLD = "hold"
    STEP_BACK = "step_back"
    STOP_AND_ASK = "stop_and_ask"


class Why(StrEnum):
    HURT = "hurt"
    NOT_MANAGED = "not_managed"
    MUCH_HARDER = "much_harder"
    AT_EASE = "at_ease"
    ROOM_TO_SPARE = "room_to_spare"
    TOO_FEW = "too_few"
    MIXED = "mixed"
    GROWS_FAST = "grows_fast"
    RESTRICTED = "restricted"
    LONG_GAP = "long_gap"
    AT_THE_TOP = "at_the_top"


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One session in which the child did the exercise it works on.

    `log` names the log. `least` and `best` are the smaller and the larger of what the two sides
    managed, or both the one amount; None where the family spoke of the whole only, and then `done`
    says whether all of it was done. `effort` is the session's, None where not told.
    """

    log: int
    on: dt.date
    target: int
    done: bool
    least: int | None = None
    best: int | None = None
    effort: int | None = None
    took_easier: bool = False
    hurt: bool = False

    @property
    def is_met(self) -> bool:
        met = self.done if self.least is None else self.least >= self.target
        return met and not self.took_easier

    @property
    def is_short(self) -> bool:
        """Not managed, on the better side either; one weaker side is `balance`'s to speak of."""
        return self.took_easier or (self.best is not None and self.best < SHORT_OF * self.target)

    @property
    def is_at_ease(self) -> bool:
        return self.is_met and self.effort is not None and self.effort <= COMFORTABLE

    @property
    def has_room(self) -> bool:
        return self.is_met and self.least is not None and self.least >= self.target + EXTRA


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What else is known: the exercise's measure and amounts, whether anything harder follows, the
    child's own earlier efforts, and what asks for patience."""

    measure: str
    usual: int
    high: int
    has_harder: bool
    earlier_efforts: Sequence[int] = ()
    grows_fast: bool = False
    is_restricted: bool = False


@dataclass(frozen=True, slots=True)
class Suggestion:
    """`rests_on` are the logs that were weighed, oldest first; `add` is how much more, for ADD."""

    move: Move
    why: Why
    rests_on: tuple[int, ...]
    add: int = 0


def suggest(attempts: Sequence[Attempt], standing: Standing, today: dt.date) -> Suggestion:
    """The first of these that holds, from the last sessions; `attempts` in any order.

    Something hurt: stop and ask. Not managed twice, or twice far harder than this child's usual:
    step back. Met twice on both sides at ease, or twice with two repetitions to spare: move on, or
    add while the dose is still below the exercise's usual one or nothing harder follows. Otherwise
    hold. While a child grows fast, is restricted or comes back from a long gap, nothing gets more.
    """
    ordered = sorted(attempts, key=lambda each: (each.on, each.log))
    hurt = [each for each in ordered[-LOOKS_BACK:] if each.hurt]
    if hurt:
        return _suggestion(Move.STOP_AND_ASK, Why.HURT, hurt)
    last = ordered[-IN_A_ROW:]
    if len(last) < IN_A_ROW:
        return _suggestion(Move.HOLD, Why.TOO_FEW, last)
    if why := _too_hard(last, standing):
        return _suggestion(Move.STEP_BACK, why, last)
    if why := _at_hand(last):
        return _onwards(last, why, standing, today)
    return _suggestion(Move.HOLD, Why.MIXED, last)


def _suggestion(move: Move, why: Why, attempts: Sequence[Attempt], add: int = 0) -> Suggestion:
    return Suggestion(move, why, tuple(each.log for each in attempts), add)


def _too_hard(last: Sequence[Attempt], standing: Standing) -> Why | None:
    if all(each.is_short for each in last):
        return Why.NOT_MANAGED
    efforts = [each.effort for each in last if each.effort is not None]
    if len(efforts) < len(last):
        return None
    much = all(is_far_above(effort, standing.earlier_efforts) for effort in efforts)
    return Why.MUCH_HARDER if much else None


def _at_hand(last: Sequence[Attempt]) -> Why | None:
    if all(each.is_at_ease for each in last):
        return Why.AT_EASE
    return Why.ROOM_TO_SPARE if all(each.has_room for each in last) else None


def _onwards(last: Sequence[Attempt], why: Why, standing: Standing, today: dt.date) -> Suggestion:
    if patience := _patience(last, standing, today):
        return _suggestion(Move.HOLD, patience, last)
    target = last[-1].target
    is_small = target < standing.usual
    if standing.has_harder and not is_small:
        return _suggestion(Move.MOVE_ON, why, last)
    room = (standing.usual if is_small and standing.has_harder else standing.high) - target
    if room > 0:
        return _suggestion(Move.ADD, why, last, add=min(room, ADDS[standing.measure]))
    return _suggestion(Move.HOLD, Why.AT_THE_TOP, last)


def _patience(last: Sequence[Attempt], standing: Standing, today: dt.date) -> Why | None:
    if standing.grows_fast:
        return Why.GROWS_FAST
    if standing.is_restricted:
        return Why.RESTRICTED
    days = [*(each.on for each in last), today]
    gaps = (after - before for before, after in pairwise(days))
    return Why.LONG_GAP if any(gap >= LONG_GAP for gap in gaps) else None
