"""A session made lighter, to a share of its work: rounds go first, then doses, down to the least.

The rules, and their reasons:

- *Every part comes to the same share of its own work*, jumps and landings with the rest: a lighter
  week is lighter for the tendons too. Where a part cannot go so low, the others go lower, and where
  a round less takes several of them too low, one keeps its rounds.
- *Rounds first.* A round less keeps what a set is: the movement is practised as it was, less often.
- *Then doses*, each time of the exercise that keeps most of itself, and never below the least its
  exercise is used with, or what was written where that is less.
- *An even number stays even* where sides are swapped.
- *Warm-ups and cool-downs stay*, unless the coach says otherwise: they are not the load.
- *As near to the share as the amounts allow*, which may be a little above it.

Work is the seconds of work, both sides together. That a lighter week takes away volume and keeps
how hard a set is, is common practice.
"""

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from program.engine.dose.dose import Sides
from program.engine.fit.library import FitLibrary
from program.engine.outline import PartOutline, SessionOutline, SlotOutline, is_work
from program.engine.timeline import PartKind


def lighter(
    session: SessionOutline,
    library: FitLibrary,
    share: int,
    *,
    also: Collection[PartKind] = (),
) -> SessionOutline:
    """The session with so many percent of its work, from 1 to 100. What gives `also` are kinds of
    part that are no work: warm-ups, cool-downs. What is at its least stays."""
    ladders = {
        place: _Ladder(part, library)
        for place, part in enumerate(session.parts)
        if is_work(part) or part.kind in also
    }
    became = dict(zip(ladders, _brought_down(list(ladders.values()), share), strict=True))
    parts = (became.get(place, part) for place, part in enumerate(session.parts))
    return replace(session, parts=tuple(parts))


def _brought_down(ladders: "list[_Ladder]", share: int) -> list[PartOutline]:
    """The parts, each as near as it can come to one percent of its work, and the first of them to
    the next, so that together they come nearest to the share: to less than it where one cannot go
    so low. Of two as near the lighter ones."""
    wanted = share * sum(ladder.written for ladder in ladders) / 100

    def comes_to(percent: int) -> float:
        return sum(ladder.work(ladder.at(percent)) for ladder in ladders)

    enough = min(100, bisect_left(range(101), wanted, key=comes_to))
    below, above = ([each.at(max(0, at)) for each in ladders] for at in (enough - 1, enough))
    between = ([*above[:first], *below[first:]] for first in range(len(ladders) + 1))

    def is_off(parts: list[PartOutline]) -> float:
        works = (ladder.work(part) for ladder, part in zip(ladders, parts, strict=True))
        return abs(sum(works) - wanted)

    return min(between, key=is_off)


def work_of(session: SessionOutline, library: FitLibrary) -> float:
    """The work of a session in seconds. An exercise that nobody knows any more counts one second
    for each of its amount."""
    return sum(_Ladder(part, library).written for part in session.parts)


@dataclass
class _Ladder:
    """A part, and all the lighter ones it may become."""

    part: PartOutline
    library: FitLibrary

    @cached_property
    def seconds(self) -> tuple[float, ...]:
        """What one repetition, second or metre takes of each slot, both sides together."""
        return tuple(map(self._seconds_per_unit, self.part.slots))

    @cached_property
    def written(self) -> float:
        return self.work(self.part)

    def work(self, part: PartOutline) -> float:
        """The seconds of work in the part as written, or in a lighter one."""
        return part.rounds * sum(
            slot.prescription.amount * seconds
            for slot, seconds in zip(part.slots, self.seconds, strict=True)
        )

    def at(self, percent: int) -> PartOutline:
        """The lighter part that is nearest to the share; of two as near the lighter one."""
        wanted = percent * self.written / 100
        rounds = self._rounds_above(wanted)
        doses = min(self._doses, key=lambda work: (abs(rounds * work - wanted), work))
        with_doses = replace(self.part, rounds=rounds, slots=self._doses[doses])
        fewer = replace(self.part, rounds=max(1, rounds - 1))
        return min(
            with_doses, fewer, key=lambda part: (abs(self.work(part) - wanted), self.work(part))
        )

    def _rounds_above(self, wanted: float) -> int:
        """The fewest rounds of the doses as written that are no less than what is wanted."""
        enough = (
            rounds
            for rounds in range(1, self.part.rounds + 1)
            if self.work(replace(self.part, rounds=rounds)) >= wanted
        )
        return next(enough, self.part.rounds)

    @cached_property
    def _doses(self) -> dict[float, tuple[SlotOutline, ...]]:
        """By the work of one round, the doses as written and what becomes of them, one dose after
        the other, until all are at the least."""
        written = [slot.prescription.amount for slot in self.part.slots]
        part = replace(self.part, rounds=1)
        found = {self.work(part): part.slots}
        while steps := [
            (lower / amount, -place, lower)
            for place, (slot, amount) in enumerate(zip(part.slots, written, strict=True))
            if (lower := self._less(slot, amount)) is not None
        ]:
            _, place, lower = max(steps)
            part = replace(part, slots=tuple(_with(part.slots, -place, lower)))
            found[self.work(part)] = part.slots
        return found

    def _less(self, slot: SlotOutline, written: int) -> int | None:
        """The next smaller amount of a slot; None where it is at its least."""
        exercise, amount = self.library.by_slug.get(slot.exercise), slot.prescription.amount
        if exercise is None:
            return None
        swaps = exercise.sides is Sides.ALTERNATING
        lower = amount - (2 if swaps and amount % 2 == 0 else 1)
        return lower if lower >= min(written, exercise.amounts.low) else None

    def _seconds_per_unit(self, slot: SlotOutline) -> float:
        exercise = self.library.by_slug.get(slot.exercise)
        if exercise is None:
            return 1
        # Not of what is written, which may be more than one set holds.
        one = replace(slot.prescription, amount=1)
        dose = exercise.dose_of(one)
        return dose.seconds_per_unit() * len(dose.sides.bouts)


def _with(slots: Iterable[SlotOutline], place: int, amount: int) -> Iterator[SlotOutline]:
    for at, slot in enumerate(slots):
        if at == place:
            yield replace(slot, prescription=replace(slot.prescription, amount=amount))
        else:
            yield slot
