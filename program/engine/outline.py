"""What a written session says, apart from where it is stored: what is copied, changed and kept.

An outline names exercises by their slugs and days by nothing: the same outline serves any week of
any cohort.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Final, Protocol

from program.engine.prescription import PRESCRIBED, Prescription
from program.engine.timeline import PartKind


class HasKind(Protocol):
    @property
    def kind(self) -> str: ...


BESIDE_THE_WORK: Final = frozenset({PartKind.WARM_UP, PartKind.COOL_DOWN})


def is_work(part: HasKind) -> bool:
    """Whether a part is what the session is for; neither a warm-up nor a cool-down is, so both are
    left alone by whatever makes the work more, less or harder."""
    return part.kind not in BESIDE_THE_WORK


@dataclass(frozen=True, slots=True)
class SlotOutline:
    """An exercise, what is asked of it, and how it may move to fit a child; see `Slot`."""

    exercise: str
    prescription: Prescription
    rule: str = "easier_where_needed"
    max_steps_up: int = 1


@dataclass(frozen=True, slots=True)
class PartOutline:
    """`rounds` is at least 1; `rest_seconds` is the rest between two rounds."""

    name: str
    kind: PartKind
    rounds: int
    rest_seconds: int
    slots: tuple[SlotOutline, ...] = ()


@dataclass(frozen=True, slots=True)
class SessionOutline:
    name: str
    place: str
    target_minutes: int
    note: str = ""
    parts: tuple[PartOutline, ...] = ()

    @property
    def exercises(self) -> frozenset[str]:
        return frozenset(slot.exercise for slot in self.slots())

    def slots(self) -> Iterator[SlotOutline]:
        return (slot for part in self.parts for slot in part.slots)

    def with_slots(self, made: Callable[[SlotOutline], SlotOutline | None]) -> "SessionOutline":
        """Each slot as `made` makes it, or left out for None; a part so emptied goes with them."""
        parts = []
        for part in self.parts:
            slots = tuple(new for slot in part.slots if (new := made(slot)) is not None)
            if slots or not part.slots:
                parts.append(replace(part, slots=slots))
        return replace(self, parts=tuple(parts))


def session_as_data(session: SessionOutline) -> dict[str, Any]:
    """To be kept as JSON. What a slot asks for stands in it beside the exercise, as it always has:
    templates outlive the shapes they were made from."""
    return asdict(session) | {"parts": [_part_as_data(part) for part in session.parts]}


def session_from_data(data: Mapping[str, Any]) -> SessionOutline:
    """Read back what `session_as_data` gave, also after it was JSON."""
    return SessionOutline(**{**data, "parts": tuple(_part_from_data(p) for p in data["parts"])})


def _part_as_data(part: PartOutline) -> dict[str, Any]:
    return asdict(part) | {"slots": [_slot_as_data(slot) for slot in part.slots]}


def _slot_as_data(slot: SlotOutline) -> dict[str, Any]:
    data = asdict(slot)
    return {**data.pop("prescription"), **data}


def _part_from_data(data: Mapping[str, Any]) -> PartOutline:
    slots = tuple(_slot_from_data(slot) for slot in data["slots"])
    return PartOutline(**{**data, "kind": PartKind(data["kind"]), "slots": slots})


def _slot_from_data(data: Mapping[str, Any]) -> SlotOutline:
    asked = {name: value for name, value in data.items() if name in PRESCRIBED}
    others = {name: value for name, value in data.items() if name not in PRESCRIBED}
    return SlotOutline(prescription=Prescription(**asked), **others)
