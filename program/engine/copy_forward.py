"""A session copied to another week with one change: what it becomes, and what stays.

The rules, and their reasons:

- *Warm-up and cool-down stay as they are.* They prepare and end the work; they are not the work
  that moves on.
- *A change acts where its measure is counted.* Two more repetitions mean nothing to a hold.
- *A change never takes a dose out of the range its exercise is used with*, nor further out. What
  it would is said, and the dose stays or goes to the range's end, as the coach chose.
- *A deload never rounds up*, and keeps an even number where sides are swapped.
- *The next exercise is the nearest harder one of the pathway.* Its dose is `dose_transfer`'s; a
  note to the family was about the exercise before it, and goes.

How much is more (one round, two repetitions, five seconds) and how much a deload leaves (60 %) is
common practice.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from program.engine.dose.dose import DELOAD_SHARE, MOST_ROUNDS, Measure, Sides, in_words
from program.engine.dose.exchange import exchanged
from program.engine.fit.library import FitExercise, FitLibrary
from program.engine.outline import PartOutline, SessionOutline, SlotOutline, is_work

MORE_REPETITIONS: Final = 2
MORE_SECONDS: Final = 5


class Change(StrEnum):
    """What is different in the copy."""

    NOTHING = "nothing"
    ROUND = "round"
    REPETITIONS = "repetitions"
    SECONDS = "seconds"
    NEXT = "next"
    DELOAD = "deload"


class Beyond(StrEnum):
    """Where a change would leave an exercise's range: STAY as it was, or go to the range's END."""

    STAY = "stay"
    END = "end"


@dataclass(frozen=True, slots=True)
class Difference:
    """What is not as it was, in words; `name` is an exercise's, or the part's own."""

    part: str
    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Refusal:
    """What the change could not do as asked, and why: one sentence."""

    part: str
    name: str
    why: str


@dataclass(frozen=True, slots=True)
class CopiedSession:
    """The session as it will be, how it differs from the one it came from, and what held back."""

    session: SessionOutline
    differences: tuple[Difference, ...] = ()
    refusals: tuple[Refusal, ...] = ()


type _Said = list[Refusal]


def copied(
    session: SessionOutline,
    change: Change,
    library: FitLibrary,
    *,
    times: int = 1,
    beyond: Beyond = Beyond.STAY,
) -> CopiedSession:
    """The session after the change has been made so many times, one upon the other."""
    said: _Said = []
    became = session
    for _ in range(times if change is not Change.NOTHING else 0):
        said = []
        became = _Step(change, beyond, library, said).taken(became)
    return CopiedSession(became, tuple(_differences(session, became, library)), tuple(said))


@dataclass
class _Step:
    """One change made once; what it could not do is added to `said`."""

    change: Change
    beyond: Beyond
    library: FitLibrary
    said: _Said

    def taken(self, session: SessionOutline) -> SessionOutline:
        parts = (self._part(part) if is_work(part) else part for part in session.parts)
        return replace(session, parts=tuple(parts))

    def _part(self, part: PartOutline) -> PartOutline:
        if self.change is Change.ROUND:
            return self._another_round(part)
        return replace(part, slots=tuple(self._slot(part, slot) for slot in part.slots))

    def _another_round(self, part: PartOutline) -> PartOutline:
        if part.rounds >= MOST_ROUNDS:
            why = f"A part has at most {MOST_ROUNDS} rounds, so it stays at {part.rounds}."
            self.said.append(Refusal(part.name, part.name, why))
            return part
        return replace(part, rounds=part.rounds + 1)

    def _slot(self, part: PartOutline, slot: SlotOutline) -> SlotOutline:
        exercise = self.library.by_slug.get(slot.exercise)
        if exercise is None:
            why = "It is not in the library any more, so it stays as it is."
            self.said.append(Refusal(part.name, slot.exercise, why))
            return slot
        act: Callable[[PartOutline, SlotOutline, FitExercise], SlotOutline]
        act = self._next if self.change is Change.NEXT else self._dosed
        return act(part, slot, exercise)

    def _dosed(self, part: PartOutline, slot: SlotOutline, exercise: FitExercise) -> SlotOutline:
        written = slot.prescription.amount
        wanted = _wanted(self.change, written, exercise)
        low, high = exercise.amounts.low, exercise.amounts.high
        is_over = wanted > max(written, high)
        if not is_over and wanted >= min(written, low):
            return _with_amount(slot, wanted)
        end = max(written, high) if is_over else min(written, low)
        amount = end if self.beyond is Beyond.END else written
        limit = f"more than the {high}" if is_over else f"less than the {low}"
        so = f"it stays at {amount}" if amount == written else f"it goes to {amount}"
        why = f"{wanted} is {limit} it is used with, so {so}."
        self.said.append(Refusal(part.name, exercise.name, why))
        return _with_amount(slot, amount)

    def _next(self, part: PartOutline, slot: SlotOutline, exercise: FitExercise) -> SlotOutline:
        found = _next_on_pathway(slot.exercise, self.library)
        if isinstance(found, str):
            self.said.append(Refusal(part.name, exercise.name, found))
            return slot
        try:
            return exchanged(slot, exercise, found)
        except ValueError as why:
            self.said.append(Refusal(part.name, exercise.name, str(why)))
            return slot


def _with_amount(slot: SlotOutline, amount: int) -> SlotOutline:
    return replace(slot, prescription=replace(slot.prescription, amount=amount))


def _wanted(change: Change, amount: int, exercise: FitExercise) -> int:
    match change:
        case Change.REPETITIONS if exercise.measure is Measure.REPETITIONS:
            return amount + MORE_REPETITIONS
        case Change.SECONDS if exercise.measure is Measure.SECONDS:
            return amount + MORE_SECONDS
        case Change.DELOAD:
            # 45 × 0.6 is 27 and nothing under it, whatever binary fractions say.
            less = math.floor(round(amount * DELOAD_SHARE, 6))
            return less - less % 2 if exercise.sides is Sides.ALTERNATING else less
        case _:
            return amount


def _next_on_pathway(slug: str, library: FitLibrary) -> FitExercise | str:
    """The nearest harder exercise, or why there is none."""
    pathway = library.pathway_of(slug, {})
    graph = library.graphs.get(pathway.slug) if pathway else None
    if pathway is None or graph is None:
        return "It stands on no pathway, so it stays."
    here = graph.beside(slug) | {slug}
    above = {harder for easier, harder in graph.steps if easier in here}
    if not above:
        return f"It is the hardest of {pathway.name}, so it stays."
    known = (library.by_slug[each] for each in above if each in library.by_slug)
    ready = [exercise for exercise in known if exercise.is_available]
    if not ready:
        return "What comes next on its pathway is not published, so it stays."
    return min(ready, key=lambda exercise: (graph.rank(exercise.slug), exercise.slug))


def _differences(
    before: SessionOutline, after: SessionOutline, library: FitLibrary
) -> Iterator[Difference]:
    for old, new in zip(before.parts, after.parts, strict=True):
        if old.rounds != new.rounds:
            yield Difference(old.name, old.name, _rounds(old.rounds), _rounds(new.rounds))
        for slot, changed in zip(old.slots, new.slots, strict=True):
            if slot != changed:
                yield _difference(old.name, slot, changed, library)


def _difference(part: str, old: SlotOutline, new: SlotOutline, library: FitLibrary) -> Difference:
    name = library.names.get(old.exercise, old.exercise)
    before, after = _dose_in_words(old, library), _dose_in_words(new, library)
    if old.exercise != new.exercise:
        after = f"{library.names[new.exercise]}, {after}"
    return Difference(part, name, before, after)


def _dose_in_words(slot: SlotOutline, library: FitLibrary) -> str:
    exercise, asked = library.by_slug.get(slot.exercise), slot.prescription
    try:
        return in_words(exercise.dose_of(asked)) if exercise else str(asked.amount)
    except ValueError:
        return str(asked.amount)


def _rounds(count: int) -> str:
    return "1 round" if count == 1 else f"{count} rounds"
