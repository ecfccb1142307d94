"""From what is stored to what the engine computes: one door for written and assigned sessions.

Fetch a written session `with_plan()` and an assigned one `with_slots()`: nothing here queries more.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby
from typing import Final, Protocol

from library.landing import Classed, Counted, class_counted, contacts_counted
from library.models import ExerciseRevision
from program.engine.dose.dose import Dose, DoseRange, Measure, Sides
from program.engine.outline import SessionOutline
from program.engine.pace import Pace
from program.engine.prescription import Prescription
from program.engine.timeline import (
    PartKind,
    Spending,
    Step,
    TimedPart,
    TimedSlot,
    duration,
    part_durations,
    spent,
    timeline,
)
from program.engine.volume import Volume, VolumeSlot, volume
from program.models import AssignedSession, AssignedSlot, Session, Slot


@dataclass(frozen=True)
class Ready:
    """One thing to have ready: the need in words, and the names of all items that serve."""

    what: str
    items: tuple[str, ...]


@dataclass(frozen=True)
class PlannedSlot:
    """A slot as the engine sees it. `problem` says what keeps it from being published; where the
    dose itself is the problem, `dose` is None and the slot takes no time."""

    key: str
    revision: ExerciseRevision | None
    prescription: Prescription
    dose: Dose | None
    problem: str = ""

    def timed(self) -> TimedSlot | None:
        """The slot on the clock; None where it takes no time."""
        if self.dose is None or self.revision is None:
            return None
        return timed(self.key, self.revision, self.dose, self.prescription.rest_seconds)


@dataclass(frozen=True)
class PlannedPart:
    key: str
    name: str
    kind: PartKind
    rounds: int
    rest_seconds: int
    slots: tuple[PlannedSlot, ...]

    def timed(self) -> TimedPart:
        """The part on the clock, without the slots that have no dose."""
        return TimedPart(
            self.key,
            self.name,
            self.kind,
            self.rounds,
            self.rest_seconds,
            tuple(on_clock for slot in self.slots if (on_clock := slot.timed())),
        )


@dataclass(frozen=True)
class Plan:
    """A session's parts in order, and what follows from them at its pace. Durations are in
    seconds."""

    parts: tuple[PlannedPart, ...]
    pace: Pace

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        return timeline((part.timed() for part in self.parts), self.pace)

    @property
    def seconds(self) -> int:
        return duration(self.steps)

    @property
    def spent(self) -> list[tuple[Spending, int]]:
        """Seconds by what they go into; together all there are."""
        return list(spent(self.steps).items())

    @cached_property
    def part_seconds(self) -> dict[str, int]:
        """Seconds by part key; a part that takes no time has none."""
        return part_durations(self.steps)

    @cached_property
    def volume(self) -> Volume:
        return volume(
            volume_slot(slot.revision, slot.dose, part.rounds)
            for part, slot in self._slots()
            if slot.dose and slot.revision
        )

    @property
    def problems(self) -> dict[str, str]:
        """Why a slot cannot be done as it stands, by slot key."""
        return {slot.key: slot.problem for _, slot in self._slots() if slot.problem}

    @cached_property
    def ready(self) -> tuple[Ready, ...]:
        """What to have ready, each once, in the order it is first needed."""
        revisions = [slot.revision for _, slot in self._slots() if slot.revision]
        return items_needed(revisions)

    def _slots(self) -> Iterator[tuple[PlannedPart, PlannedSlot]]:
        return ((part, slot) for part in self.parts for slot in part.slots)


def plan_of(session: Session | AssignedSession) -> Plan:
    if isinstance(session, Session):
        return Plan(tuple(_written_parts(session)), session.block.pace)
    return Plan(tuple(_assigned_parts(session)), session.pace)


def plan_of_outline(
    session: SessionOutline, revisions: Mapping[str, ExerciseRevision], pace: Pace
) -> Plan:
    """Of a session that is not stored; `revisions` are the library's by slug. What is not in the
    library takes no time, like a slot that cannot be done."""
    parts = tuple(
        PlannedPart(
            f"part-{place}",
            part.name,
            part.kind,
            part.rounds,
            part.rest_seconds,
            tuple(
                _asked(f"slot-{place}-{at}", slot.prescription, revisions.get(slot.exercise))
                for at, slot in enumerate(part.slots)
            ),
        )
        for place, part in enumerate(session.parts)
    )
    return Plan(parts, pace)


def timed(
    key: str, revision: ExerciseRevision, dose: Dose, rest_seconds: int | None = None
) -> TimedSlot:
    """An exercise on the clock, with its set-up."""
    return TimedSlot(key, revision.name, dose, rest_seconds, revision.setup_seconds, revision.watch)


def items_needed(revisions: Iterable[ExerciseRevision]) -> tuple[Ready, ...]:
    """The needs of some exercises, each once. Needs that the same items meet are one need."""
    by_items: dict[tuple[str, ...], Ready] = {}
    for revision in revisions:
        for need in revision.needs.all():
            names = tuple(sorted(item.name for item in need.items.all()))
            by_items.setdefault(names or (need.what,), Ready(need.what, names))
    return tuple(by_items.values())


class Dosed(Counted, Protocol):
    """How an exercise is counted; an `ExerciseRevision` is one, and so is a row of its columns."""

    @property
    def sides(self) -> str: ...


DOSED: Final = ("measure", "sides", "pattern", "contacts", "no_landing_because")
"""The columns of a revision that make a row `Dosed`."""


class Worked(Classed, Dosed, Protocol):
    """What work an exercise is; an `ExerciseRevision` says it, and so does a row of `WORKED`."""

    @property
    def loads(self) -> Iterable[str]: ...


WORKED: Final = (*DOSED, "contact_class", "loads")
"""The columns of a revision that make a row `Worked`."""


def volume_slot(exercise: Worked, dose: Dose, rounds: int) -> VolumeSlot:
    """So many rounds of an exercise, as far as their volume goes."""
    return VolumeSlot(
        exercise.pattern, dose, rounds, frozenset(exercise.loads), class_counted(exercise)
    )


def dose_of(revision: Dosed, asked: Prescription) -> Dose:
    """The dose of an exercise. Raises ValueError, in words a coach can act on, if impossible."""
    return Dose(
        measure=Measure(revision.measure),
        amount=asked.amount,
        sides=Sides(revision.sides),
        tempo=asked.parsed_tempo,
        contacts=contacts_counted(revision),
    )


def easier_of(slot: AssignedSlot) -> tuple[ExerciseRevision, Dose] | None:
    """The easier option sent along with a slot, and its dose; None where there is none."""
    revision, amount = slot.easier_revision, slot.easier_amount
    if revision is None or amount is None:
        return None
    return revision, dose_of(revision, Prescription(amount, slot.easier_tempo))


def amounts_of(revision: ExerciseRevision) -> DoseRange:
    """The amounts an exercise is used with, by its own page."""
    return DoseRange(revision.low, revision.usual, revision.high)


def _written_parts(session: Session) -> Iterator[PlannedPart]:
    for part in session.parts.all():
        slots = tuple(_written_slot(slot) for slot in part.slots.all())
        yield PlannedPart(
            f"part-{part.pk}",
            part.name,
            PartKind(part.kind),
            part.rounds,
            part.rest_seconds,
            slots,
        )


def _assigned_parts(session: AssignedSession) -> Iterator[PlannedPart]:
    by_position = groupby(session.slots.all(), key=lambda slot: slot.part_position)
    for position, group in by_position:
        slots = list(group)
        head = slots[0]
        yield PlannedPart(
            f"part-{position}",
            head.part_name,
            PartKind(head.part_kind),
            head.rounds,
            head.part_rest_seconds,
            tuple(_planned(slot, slot.revision) for slot in slots),
        )


def _written_slot(slot: Slot) -> PlannedSlot:
    planned = _planned(slot, slot.exercise.current)
    if planned.problem or slot.exercise.is_published:
        return planned
    return replace(planned, problem=f"{slot.exercise} is not published. Take another exercise.")


def _planned(slot: Slot | AssignedSlot, revision: ExerciseRevision | None) -> PlannedSlot:
    return _asked(f"slot-{slot.pk}", slot.prescription, revision)


def _asked(key: str, asked: Prescription, revision: ExerciseRevision | None) -> PlannedSlot:
    if revision is None:
        return PlannedSlot(key, None, asked, None, "This exercise has not been written yet.")
    try:
        dose = dose_of(revision, asked)
    except ValueError as why:
        return PlannedSlot(key, revision, asked, None, str(why))
    return PlannedSlot(key, revision, asked, dose)
