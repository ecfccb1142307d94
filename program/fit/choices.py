"""What one child is to get, before it is written down: the seam between choosing and publishing."""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from library.models import ExerciseRevision
from program.common.session_plan import Plan, PlannedPart, PlannedSlot, dose_of
from program.engine.outline import is_work
from program.engine.pace import Pace
from program.engine.prescription import Prescription
from program.engine.timeline import PartKind
from program.models import Outcome, Part, Session, Slot


@dataclass(frozen=True)
class Chosen:
    """What fills one written slot for one child. `note` is the coach's word for this child, which
    stands in the place of the slot's."""

    slot: Slot
    revision: ExerciseRevision
    prescription: Prescription
    outcome: str = Outcome.AS_WRITTEN
    reasons: tuple[Mapping[str, Any], ...] = ()
    note: str = ""
    easier_revision: ExerciseRevision | None = None
    easier: Prescription | None = None


@dataclass(frozen=True)
class ChosenSession:
    """The slots of a session for one child, and those that wait for a coach's decision. `is_held`:
    it is not sent, as `FittedSession.goes_out_to` has it."""

    child_id: int
    slots: Sequence[Chosen]
    undecided: Sequence[Slot] = field(default=())
    is_held_back: bool = False  # the child does nothing for now; what it has stays closed
    is_held: bool = False


def fingerprint(session: Session, chosen: ChosenSession) -> str:
    """A digest of everything the family sees; equal digests mean nothing to publish again."""
    facts: list[Any] = [
        [session.name, session.date.isoformat(), session.place, session.note],
        session.block.pauses,
        *(_facts(each) for each in chosen.slots),
    ]
    if chosen.undecided:
        facts.append([len(chosen.undecided)])
    return hashlib.sha256(json.dumps(facts, sort_keys=True, default=str).encode()).hexdigest()


def _facts(each: Chosen) -> list[Any]:
    """In the order of the first fingerprints. What is new to a prescription comes last, and only
    where it says something, so that what was published before stays equal."""
    slot, part, asked, easier = each.slot, each.slot.part, each.prescription, each.easier
    easier_revision = each.easier_revision.pk if each.easier_revision else None
    return [
        [part.position, part.name, _how_rounds_go(part), part.rounds, part.rest_seconds],
        [slot.position, asked.rest_seconds, asked.note, each.note],
        [each.revision.pk, asked.amount, asked.tempo, each.outcome, list(each.reasons)],
        [easier_revision, *((easier.amount, easier.tempo) if easier else (None, ""))],
    ]


def _how_rounds_go(part: Part) -> str:
    """As the first fingerprints said it, to which a warm-up was one or the other."""
    if is_work(part):
        return part.kind
    return PartKind.STRAIGHT if part.rounds == 1 else PartKind.CIRCUIT


def chosen_seconds(chosen: Sequence[Chosen], pace: Pace) -> int:
    """The seconds of what was chosen for a child, in the session's order; 0 for nothing.

    Raises ValueError, in words a coach can act on, for a dose nobody could do.
    """
    return plan_of_chosen(chosen, pace).seconds


def plan_of_chosen(chosen: Sequence[Chosen], pace: Pace) -> Plan:
    """What was chosen for a child, in the session's order, as the checks read a session."""
    return Plan(tuple(_parts(chosen)), pace)


def _parts(chosen: Sequence[Chosen]) -> Iterator[PlannedPart]:
    for part, group in groupby(chosen, key=lambda each: each.slot.part):
        yield PlannedPart(
            f"part-{part.position}",
            part.name,
            PartKind(part.kind),
            part.rounds,
            part.rest_seconds,
            tuple(_slot(each) for each in group),
        )


def _slot(each: Chosen) -> PlannedSlot:
    dose = dose_of(each.revision, each.prescription)
    return PlannedSlot(f"slot-{each.slot.pk}", each.revision, each.prescription, dose)
