"""Changing what a written session holds and in which order.

Every change happens inside `editing`, which lets coaches take turns and raises the session's
version, so that a published session is known to have been edited since.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Literal

from django.db import transaction
from django.db.models import F, Max, QuerySet
from django.utils import timezone

from library.models import Exercise
from program.build import undoing
from program.common.edit_conflicts import ConflictAwareForm, write
from program.common.loaders import locked_session_or_404
from program.common.session_outlines import (
    Dated,
    outline_of,
    part_outline_of,
    slot_of,
    slot_outline_of,
    write_parts,
    write_sessions,
)
from program.engine.weeks import A_WEEK
from program.models import Part, PartKind, Session, Slot

if TYPE_CHECKING:
    from athletes.models import User
    from library.shared.access import Request

type Direction = Literal[-1, 1]

# Rounds and rest that a new part begins with. Common practice, to be changed in place.
BEGINS_WITH = {
    PartKind.WARM_UP: (1, 0),
    PartKind.STRAIGHT: (1, 0),
    PartKind.SUPERSET: (3, 30),
    PartKind.CIRCUIT: (2, 60),
    PartKind.COOL_DOWN: (1, 0),
}


class Unchanged(Exception):
    """Raised inside `editing` to leave the session as it was."""


@contextmanager
def editing(
    request: "Request",
    session_id: int,
    *,
    remembers: bool = True,
    deleted: Sequence[undoing.Deleted] = (),
) -> Iterator[Session]:
    """Alone with a session that the user may see, until the change is committed. 404 otherwise.

    The change can be undone, unless it `remembers` nothing; in `deleted` stands what it deletes,
    by the end.
    """
    user = request.user
    try:
        with transaction.atomic():
            session = locked_session_or_404(user, session_id)
            before = undoing.rows_of(session) if remembers else None
            yield session
            Session.objects.filter(pk=session_id).update(
                version=F("version") + 1, edited_by=user, edited_at=timezone.now()
            )
    except Unchanged:
        return
    if before:
        undoing.remember(request.session, session, before, next(iter(deleted), None))


def save_in_place(row: Part | Slot, form: ConflictAwareForm) -> None:
    """Write what the form changed on the row as it is stored; nothing if it is refused or conflicts
    with what somebody else wrote. Within `editing`."""
    changes = form.changes_to(row) if form.is_valid() else {}
    if not changes:
        raise Unchanged
    write(row, changes)
    form.is_written = True


def save_facts(session: Session, form: ConflictAwareForm) -> None:
    """The same for the session's own facts."""
    changes = form.changes_to(session) if form.is_valid() else {}
    if not changes:
        raise Unchanged
    Session.objects.filter(pk=session.pk).update(**changes)


def add_part(session: Session, kind: PartKind) -> Part:
    rounds, rest = BEGINS_WITH[kind]
    return session.parts.create(
        position=next_position(session.parts.all()),
        name=kind.usual_name or f"Part {session.parts.count() + 1}",
        kind=kind,
        rounds=rounds,
        rest_seconds=rest,
    )


def add_slot(part: Part, exercise: Exercise) -> Slot:
    """The exercise at the part's end with its usual dose. It has a current revision."""
    revision = exercise.current
    if revision is None:
        raise ValueError("an exercise without a revision has no usual dose")
    return part.slots.create(
        position=next_position(part.slots.all()),
        exercise=exercise,
        amount=revision.usual,
        tempo=revision.tempo,
    )


def nudge_part(part: Part, direction: Direction) -> None:
    """One place up or down among the session's parts."""
    parts = list(part.session.parts.all())
    at = parts.index(part)
    if not 0 <= at + direction < len(parts):
        raise Unchanged
    parts.insert(at + direction, parts.pop(at))
    _renumber(Part, parts)


def move_part(part: Part, before: Part | None) -> None:
    """Put the part before another one of its session, or last."""
    others = [other for other in part.session.parts.all() if other != part]
    others.insert(others.index(before) if before in others else len(others), part)
    _renumber(Part, others)


def nudge_slot(slot: Slot, direction: Direction) -> None:
    """One place up or down; from the edge of its part into the neighbouring one."""
    parts = list(slot.part.session.parts.all())
    home = parts.index(slot.part)
    slots = list(slot.part.slots.all())
    at = slots.index(slot)
    if 0 <= at + direction < len(slots):
        slots.insert(at + direction, slots.pop(at))
        _renumber(Slot, slots)
    elif 0 <= home + direction < len(parts):
        neighbour = parts[home + direction]
        move_slot(slot, neighbour, neighbour.slots.first() if direction == 1 else None)
    else:
        raise Unchanged


def move_slot(slot: Slot, part: Part, before: Slot | None) -> None:
    """Put the slot into a part of its session, before another slot or last."""
    others = [other for other in part.slots.all() if other != slot]
    others.insert(others.index(before) if before in others else len(others), slot)
    slot.part = part
    _renumber(Slot, others)


def duplicate_slot(slot: Slot) -> Slot:
    """The same exercise and dose once more, right after."""
    slots = list(slot.part.slots.all())
    at_the_end = next_position(slot.part.slots.all())
    copy = slot_of(slot.part, at_the_end, slot_outline_of(slot), slot.exercise_id)
    copy.save()
    slots.insert(slots.index(slot) + 1, copy)
    _renumber(Slot, slots)
    return copy


def duplicate_part(part: Part) -> Part:
    """The same part with the same slots once more, right after."""
    parts = list(part.session.parts.all())
    at_the_end = next_position(part.session.parts.all())
    (copy,) = write_parts([(part.session, at_the_end, part_outline_of(part))])
    parts.insert(parts.index(part) + 1, copy)
    _renumber(Part, parts)
    return copy


def duplicate_session(session: Session, by: "User") -> Session:
    """The same session a week later, or on the same day where the block has ended by then.

    In a transaction, so that nobody ever sees half of it.
    """
    later = session.date + A_WEEK
    day = later if later <= session.block.ends_on else session.date
    whole = Session.objects.with_slots().get(pk=session.pk)
    return write_sessions(session.block, [Dated(outline_of(whole), day)], by)[0]


def _renumber[Row: (Part, Slot)](model: type[Row], rows: Sequence[Row]) -> None:
    for position, row in enumerate(rows):
        row.position = position
    fields = ["position", "part"] if model is Slot else ["position"]
    model._default_manager.bulk_update(rows, fields)


def next_position(rows: "QuerySet[Part] | QuerySet[Slot]") -> int:
    """The place after the last of a session's parts, or of a part's slots."""
    last = rows.aggregate(last=Max("position"))["last"]
    return 0 if last is None else last + 1
