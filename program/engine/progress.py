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
from statistics import median
from typing import Final

from program.engine.days import hardest_of_each_day
from program.engine.load import LEAST_EARLIER, is_far_above, usual
from program.engine.ratings import have_varied

IN_A_ROW: Final = 2
"""Sessions that must agree before anything is suggested: one good or bad day is a day. Two extra
repetitions in two consecutive sessions is the handbooks' "2-for-2" (from memory)."""

EASIER: Final = 2
"""Points of effort below what is usual for this child, at least, at which it is at ease. House
rule: one child's 3 is another's 6, so that the child's own ratings are the scale."""

MANAGED_LATELY: Final = 4
"""Sessions back to which all that was asked must have been managed before two of them speak for
more: two good days of a child that is good one day and short the next are chance. House rule."""

STEADY: Final = 8
"""Sessions in a row in which all was managed that speak for more by themselves, if they were not
hard. House rule: where a child does no more than asked, nothing else shows that it could."""

HARD: Final = 5
"""Effort of 10. On the scale for whole sessions (Foster et al. 2001, its words from memory) 4 is
somewhat hard and 5 hard. Sessions whose middle rating is below it were not."""

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
    STEADY = "steady"
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
    step back. Managed on both sides of late, and twice much easier than usual or with two
    repetitions to spare; or managed again and again and not hard: move on, or add while the dose is
    still below the exercise's usual one or nothing harder follows. Otherwise hold. While a child
    grows fast, is restricted or comes back from a long gap, nothing gets more. Ratings that have
    not varied make nobody ready. How often this is right: `program/docs/known-truth.md`.
    """
    ordered = _one_a_day(attempts)
    hurt = [each for each in ordered[-LOOKS_BACK:] if each.hurt]
    if hurt:
        return _suggestion(Move.STOP_AND_ASK, Why.HURT, hurt)
    last = ordered[-IN_A_ROW:]
    if len(last) < IN_A_ROW:
        return _suggestion(Move.HOLD, Why.TOO_FEW, last)
    if why := _too_hard(last, standing):
        return _suggestion(Move.STEP_BACK, why, last)
    if why := _at_hand(ordered, standing):
        weighed = _steady_run(ordered) if why is Why.STEADY else last
        return _onwards(weighed, why, standing, today)
    return _suggestion(Move.HOLD, Why.MIXED, last)


def _one_a_day(attempts: Sequence[Attempt]) -> list[Attempt]:
    """By day, and of a day the one that asks for most care: two on one day agree too easily."""
    return hardest_of_each_day(attempts, lambda each: each.on, _care)


def _care(attempt: Attempt) -> tuple[bool, bool, bool, int, int]:
    """What hurt comes first, then what was not managed, and then what was harder."""
    is_missed = not attempt.is_met
    return attempt.hurt, attempt.is_short, is_missed, attempt.effort or 0, -attempt.log


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


def _at_hand(ordered: Sequence[Attempt], standing: Standing) -> Why | None:
    last = ordered[-IN_A_ROW:]
    if not all(each.is_met for each in ordered[-MANAGED_LATELY:]):
        return None
    if all(each.has_room for each in last):
        return Why.ROOM_TO_SPARE
    lately = [each.effort for each in last if each.effort is not None]
    if not have_varied([*standing.earlier_efforts, *lately]):
        return None
    if len(lately) == IN_A_ROW and all(_is_at_ease(each, standing) for each in lately):
        return Why.AT_EASE
    return Why.STEADY if _is_steady(_steady_run(ordered)) else None


def _is_at_ease(effort: int, standing: Standing) -> bool:
    before = usual(standing.earlier_efforts)
    return before is not None and effort <= before.median - max(EASIER, before.spread)


def _steady_run(ordered: Sequence[Attempt]) -> Sequence[Attempt]:
    """The last sessions in which at least as much was asked as in the last one."""
    asked = ordered[-1].target
    return [each for each in ordered if each.target >= asked][-STEADY:]


def _is_steady(run: Sequence[Attempt]) -> bool:
    efforts = [each.effort for each in run if each.effort is not None]
    is_known = len(efforts) >= LEAST_EARLIER
    managed = len(run) == STEADY and all(each.is_met for each in run)
    return managed and is_known and median(efforts) < HARD


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
