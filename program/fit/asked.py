"""What a session asks of each child as it was fitted, for the checks of that session."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from library.landing import ContactClass
from program.common.session_plan import Plan, PlannedPart, PlannedSlot
from program.engine.checks import Asked
from program.engine.fit.asking_more import AsksMore
from program.engine.fit.fitting import Fitted, Given, Outcome
from program.engine.fit.limits import HardLimits
from program.engine.pace import Pace
from program.engine.timeline import part_alone, parts_together
from program.engine.volume import contacts_together
from program.fit.fitting import FittedSession

NOTHING = Asked(0, 0)


def asked_of(fitted: FittedSession, written: Plan) -> dict[int, Asked]:
    """By key, the children of whom it asks something else than is written, with that. `written` is
    the session's own plan.

    A place that waits for the coach's choice counts as written until it is made; nothing is asked
    of whoever does nothing for now.
    """
    parts = _Parts(written.pace, fitted)
    by_itself = (_OfPart.of(part, written.pace) for part in written.parts)
    as_written = _together(by_itself, (), written.pace)
    asked = {}
    for child, filled in fitted.by_child.items():
        if HardLimits(fitted.circumstances[child]).held_back:
            asked[child] = NOTHING
        else:
            each = parts.of_child(written, filled)
            asked[child] = _together(each, fitted.asks_more[child], written.pace)
    return {child: each for child, each in asked.items() if each != as_written}


class _OfPart(NamedTuple):
    """What one part asks by itself."""

    contacts: Mapping[ContactClass, float]
    seconds: int
    watched: tuple[str, ...]

    @classmethod
    def of(cls, part: PlannedPart, pace: Pace) -> "_OfPart":
        slots = [(slot.dose, slot.revision) for slot in part.slots if slot.dose and slot.revision]
        return cls(
            contacts_together(
                {revision.class_counted: dose.ground_contacts * part.rounds}
                for dose, revision in slots
                if dose.ground_contacts
            ),
            part_alone(part.timed(), pace),
            tuple(revision.name for _, revision in slots if revision.watch),
        )


def _together(parts: Iterable[_OfPart], more: Iterable[AsksMore | None], pace: Pace) -> Asked:
    parts, asks_more = list(parts), [each for each in more if each]
    contacts = contacts_together(part.contacts for part in parts)
    return Asked(
        round(sum(contacts.values())),
        parts_together((part.seconds for part in parts), pace),
        tuple(name for part in parts for name in part.watched),
        any(each.lands_more for each in asks_more),
        any(each.takes_twice for each in asks_more),
        contacts,
    )


class _Parts:
    """The parts of a session as they are fitted. What several children get alike is added up
    once."""

    def __init__(self, pace: Pace, fitted: FittedSession) -> None:
        self._pace, self._fitted = pace, fitted
        self._found: dict[tuple[Given | Outcome | str, ...], _OfPart] = {}

    def of_child(self, written: Plan, filled: Sequence[Fitted]) -> Iterator[_OfPart]:
        by_slot = {f"slot-{each.slot_key}": each for each in filled}
        for part in written.parts:
            each = (by_slot[slot.key] for slot in part.slots)
            gets = (part.key, *(one.given or one.outcome for one in each))
            if gets not in self._found:
                fitted = replace(part, slots=tuple(self._slots(part, by_slot)))
                self._found[gets] = _OfPart.of(fitted, self._pace)
            yield self._found[gets]

    def _slots(self, part: PlannedPart, by_slot: Mapping[str, Fitted]) -> Iterator[PlannedSlot]:
        for slot in part.slots:
            each = by_slot[slot.key]
            if each.given:
                revision = self._fitted.library.revisions[each.given.exercise]
                yield replace(slot, revision=revision, dose=each.given.dose, problem="")
            elif each.outcome is Outcome.COACH_DECIDES:
                yield slot
