"""A session copied to another week with one change: what it becomes, and what stays.

The rules, and their reasons:

- *Warm-ups and cool-downs stay as they are*, unless the coach says otherwise: they prepare the work
  and end it; they are not the work that moves on.
- *A change acts where its measure is counted.* Two more repetitions mean nothing to a hold.
- *A change never takes a dose out of the range its exercise is used with*, nor further out. What
  it would is said, and the dose stays or goes to the range's end, as the coach chose.
- *A deload is `deload`'s*: rounds first, then doses, until the share of the work is reached that
  the coach chose.
- *The next exercise is the nearest harder one of the pathway.* Its dose is `dose_transfer`'s; a
  note to the family was about the exercise before it, and goes.

How much is more (one round, two repetitions, five seconds) and how much a deload usually leaves
(60 %) is common practice.
"""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from program.engine.deload import lighter, work_of
from program.engine.dose.dose import DELOAD_SHARE, MOST_ROUNDS, Measure, in_words
from program.engine.dose.exchange import exchanged
from program.engine.fit.library import FitExercise, FitLibrary
from program.engine.outline import PartOutline, SessionOutline, SlotOutline, is_work
from program.engine.timeline import PartKind

MORE_REPETITIONS: Final = 2
MORE_SECONDS: Final = 5
DELOAD_PERCENT: Final = round(DELOAD_SHARE * 100)
"""What a deload usually leaves of the work."""
DELOAD_SHARES: Final = (40, 50, 60, 70, 80)
"""What it may leave, in percent. Less is a break, more is a week like any other: a house rule."""


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
    share: int = DELOAD_PERCENT,
    also: Collection[PartKind] = (),
) -> CopiedSession:
    """The session after the change has been made so many times, one upon the other. A deload leaves
    the `share` of the work, in percent. What is changed `also` are kinds of part that are no work:
    warm-ups, cool-downs."""
    said: _Said = []
    became = session
    for _ in range(times if change is not Change.NOTHING else 0):
        said = []
        became = _Step(change, beyond, library, said, share, also).taken(became)
    return CopiedSession(became, tuple(_differences(session, became, library)), tuple(said))


@dataclass
class _Step:
    """One change made once; what it could not do is added to `said`."""

    change: Change
    beyond: Beyond
    library: FitLibrary
    said: _Said
    share: int
    also: Collection[PartKind]

    def taken(self, session: SessionOutline) -> SessionOutline:
        if self.change is Change.DELOAD:
            return self._deloaded(session)
        parts = (part if self._stays(part) else self._part(part) for part in session.parts)
        return replace(session, parts=tuple(parts))

    def _stays(self, part: PartOutline) -> bool:
        return not is_work(part) and part.kind not in self.also

    def _deloaded(self, session: SessionOutline) -> SessionOutline:
        became = lighter(session, self.library, self.share, also=self.also)
        if became == lighter(session, self.library, 1, also=self.also):
            self._say_what_is_left(session, became)
        return became

    def _say_what_is_left(self, session: SessionOutline, became: SessionOutline) -> None:
        """Where everything is at its least, and that is more than was asked for."""
        before, after = (
            work_of(self._without_what_stays(each), self.library) for each in (session, became)
        )
        left = round(100 * after / before) if before else 0
        if left > self.share:
            why = f"Every exercise is at its least, and {left} % of the work are left."
            self.said.append(Refusal(session.name, session.name, why))

    def _without_what_stays(self, session: SessionOutline) -> SessionOutline:
        parts = tuple(part for part in session.parts if not self._stays(part))
        return replace(session, parts=parts)

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
        high = exercise.amounts.high
        if wanted <= max(written, high):
            return _with_amount(slot, wanted)
        amount = max(written, high) if self.beyond is Beyond.END else written
        so = f"it stays at {amount}" if amount == written else f"it goes to {amount}"
        why = f"{wanted} is more than the {high} it is used with, so {so}."
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
