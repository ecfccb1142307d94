"""From a stored session to its outline, and from outlines to stored sessions.

Writing takes a fixed number of statements however many sessions there are.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from library.models import Exercise
from program.engine.outline import PartOutline, SessionOutline, SlotOutline
from program.engine.timeline import PartKind
from program.models import Block, Part, Session, Slot

if TYPE_CHECKING:
    from athletes.models import User


@dataclass(frozen=True)
class Dated:
    """A session to be written, and its day."""

    outline: SessionOutline
    day: dt.date


def outline_of(session: Session) -> SessionOutline:
    """Of a session whose parts, slots and exercises are prefetched: no query."""
    return SessionOutline(
        name=session.name,
        place=session.place,
        target_minutes=session.target_minutes,
        note=session.note,
        parts=tuple(part_outline_of(part) for part in session.parts.all()),
    )


def part_outline_of(part: Part) -> PartOutline:
    return PartOutline(
        name=part.name,
        kind=PartKind(part.kind),
        rounds=part.rounds,
        rest_seconds=part.rest_seconds,
        slots=tuple(slot_outline_of(slot) for slot in part.slots.all()),
    )


def slot_outline_of(slot: Slot) -> SlotOutline:
    return SlotOutline(
        exercise=slot.exercise.slug,
        prescription=slot.prescription,
        rule=slot.rule,
        max_steps_up=slot.max_steps_up,
    )


def write_sessions(block: Block, dated: Sequence[Dated], by: "User") -> list[Session]:
    """New drafts of a block. In a transaction, so that nobody ever sees half of one."""
    sessions = Session.objects.bulk_create(
        Session(
            block=block,
            name=each.outline.name,
            date=each.day,
            place=each.outline.place,
            target_minutes=each.outline.target_minutes,
            note=each.outline.note,
            edited_by=by,
        )
        for each in dated
    )
    write_parts(
        (session, position, part)
        for session, each in zip(sessions, dated, strict=True)
        for position, part in enumerate(each.outline.parts)
    )
    return sessions


def write_parts(placed: Iterable[tuple[Session, int, PartOutline]]) -> list[Part]:
    """New parts at their positions, with their slots. Their exercises are in the library."""
    placed = list(placed)
    parts = Part.objects.bulk_create(
        Part(
            session=session,
            position=position,
            name=part.name,
            kind=part.kind,
            rounds=part.rounds,
            rest_seconds=part.rest_seconds,
        )
        for session, position, part in placed
    )
    slugs = {slot.exercise for _, _, part in placed for slot in part.slots}
    ids = dict(Exercise.objects.filter(slug__in=slugs).values_list("slug", "pk"))
    Slot.objects.bulk_create(
        slot_of(written, place, slot, ids[slot.exercise])
        for written, (_, _, part) in zip(parts, placed, strict=True)
        for place, slot in enumerate(part.slots)
    )
    return parts


def slot_of(part: Part, position: int, outline: SlotOutline, exercise_id: int) -> Slot:
    """Not written yet; `exercise_id` is the outline's exercise."""
    return Slot(
        part=part,
        position=position,
        exercise_id=exercise_id,
        rule=outline.rule,
        max_steps_up=outline.max_steps_up,
        **asdict(outline.prescription),
    )
