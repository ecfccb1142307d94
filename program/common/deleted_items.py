"""The way back: what a coach took out of a session is kept for them until they sign out.

Kept in the coach's own signed-in session, newest last. Of a child there is nothing in it but what
the coach decided for that child in the slot, and the ids of assigned slots, so that what was
published keeps pointing at what it came from.
"""

import datetime as dt
import json
import uuid
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Literal

from django.contrib.sessions.backends.base import SessionBase
from django.db.models import F, Model

from library.shared.acting import acting_for_the_program
from program.common import stored_rows
from program.models import AssignedSlot, Block, Override, Part, Session, Slot

KEPT = 6
_KEY = "taken_out"

type Kind = Literal["slot", "part", "session"]


@dataclass(frozen=True)
class DeletedItem:
    """Something taken out: where it stood (the id of its part, session or block, and the position
    or date there) and the rows themselves."""

    key: str
    kind: Kind
    name: str
    session_id: int
    within_id: int
    at: str
    rows: str
    assigned: dict[str, list[int]]

    @property
    def row_key(self) -> str:
        """The key of the row it was and will be again, such as "slot-12"."""
        pk = json.loads(self.rows)[0]["pk"]
        return f"{self.kind}-{pk}"

    @property
    def position(self) -> int:
        return int(self.at)

    @property
    def date(self) -> dt.date:
        return dt.date.fromisoformat(self.at)


class CannotRestore(Exception):
    """Raised with a sentence that says why."""


@acting_for_the_program()
def delete_slot(kept: SessionBase, slot: Slot) -> DeletedItem:
    out = DeletedItem(
        key=uuid.uuid4().hex,
        kind="slot",
        name=str(slot.exercise),
        session_id=slot.part.session_id,
        within_id=slot.part_id,
        at=str(slot.position),
        rows=stored_rows.as_text([slot, *_overrides([slot])]),
        assigned=_assigned([slot]),
    )
    slot.delete()
    return _keep(kept, out)


@acting_for_the_program()
def delete_part(kept: SessionBase, part: Part) -> DeletedItem:
    slots = list(part.slots.all())
    out = DeletedItem(
        key=uuid.uuid4().hex,
        kind="part",
        name=part.name,
        session_id=part.session_id,
        within_id=part.session_id,
        at=str(part.position),
        rows=stored_rows.as_text([part, *slots, *_overrides(slots)]),
        assigned=_assigned(slots),
    )
    part.delete()
    return _keep(kept, out)


@acting_for_the_program()
def delete_session(kept: SessionBase, session: Session) -> DeletedItem:
    """Raises ProtectedError where it has been published to a child."""
    parts = list(session.parts.prefetch_related("slots"))
    slots = [slot for part in parts for slot in part.slots.all()]
    out = DeletedItem(
        key=uuid.uuid4().hex,
        kind="session",
        name=session.name,
        session_id=session.pk,
        within_id=session.block_id,
        at=session.date.isoformat(),
        rows=stored_rows.as_text([session, *parts, *slots, *_overrides(slots)]),
        assigned={},
    )
    session.delete()
    return _keep(kept, out)


def of_session(kept: SessionBase, session: Session) -> list[DeletedItem]:
    """Slots and parts of this session that may still be put back, newest last."""
    return [out for out in all_in(kept) if out.kind != "session" and out.session_id == session.pk]


def of_block(kept: SessionBase, block_id: int) -> list[DeletedItem]:
    return [out for out in all_in(kept) if out.kind == "session" and out.within_id == block_id]


@acting_for_the_program()
def restore(kept: SessionBase, out: DeletedItem) -> None:
    """Make the rows again as they were, ids included; a second time changes nothing.

    In a transaction, with the session locked where it still exists.
    """
    rows = stored_rows.read(out.rows)
    if not _is_back(rows[0].object):
        _make_room(out)
        stored_rows.insert(rows)
        _point_at_again(out)
    dismiss(kept, out)


def dismiss(kept: SessionBase, out: DeletedItem) -> None:
    kept[_KEY] = [entry for entry in kept.get(_KEY, []) if entry["key"] != out.key]


def dismiss_all_of(kept: SessionBase, session: Session) -> None:
    """Stop offering what was taken out of a session."""
    for out in of_session(kept, session):
        dismiss(kept, out)


def _is_back(row: Model) -> bool:
    return type(row)._default_manager.filter(pk=row.pk).exists()


def _make_room(out: DeletedItem) -> None:
    """Free the place it stood at; what moved there since comes after it."""
    if out.kind == "session":
        block = Block.objects.get(pk=out.within_id)
        if not block.holds(out.date):
            raise CannotRestore(f"The block no longer holds the day of {out.name}.")
        return
    if out.kind == "part":
        later = Part.objects.filter(session=out.within_id, position__gte=out.position)
        later.update(position=F("position") + 1)
        return
    if not Part.objects.filter(pk=out.within_id, session=out.session_id).exists():
        raise CannotRestore(f"The part that {out.name} stood in is gone: put that back first.")
    slots = Slot.objects.filter(part=out.within_id, position__gte=out.position)
    slots.update(position=F("position") + 1)


def _point_at_again(out: DeletedItem) -> None:
    for slot_id, assigned in out.assigned.items():
        AssignedSlot.objects.filter(pk__in=assigned, written_slot=None).update(
            written_slot=int(slot_id)
        )


def _overrides(slots: Iterable[Slot]) -> list[Override]:
    """The coach's choices for single children go and come back with their slot."""
    return list(Override.objects.filter(slot__in=slots))


def _assigned(slots: Iterable[Slot]) -> dict[str, list[int]]:
    pairs = AssignedSlot.objects.filter(written_slot__in=slots).values_list("written_slot", "pk")
    found: dict[str, list[int]] = {}
    for slot_id, pk in pairs:
        found.setdefault(str(slot_id), []).append(pk)
    return found


def _keep(kept: SessionBase, out: DeletedItem) -> DeletedItem:
    kept[_KEY] = [*kept.get(_KEY, []), asdict(out)][-KEPT:]
    return out


def all_in(kept: SessionBase) -> list[DeletedItem]:
    """All that may still be put back, newest last."""
    return [DeletedItem(**entry) for entry in kept.get(_KEY, [])]
