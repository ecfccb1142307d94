"""What is done to the sessions of a block on its board, and how each of it is taken back.

Every change is one transaction under the block's lock and is kept as a `BoardChange`. Taking back
touches only what is still as the change left it; what somebody has worked on since stays, and is
said.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from django.db import IntegrityError, transaction
from django.db.models import F, Max, ProtectedError
from django.http import Http404

from library.shared.acting import acting_for_the_program
from library.shared.dates import weekday_and_date
from library.shared.ids import whole_number
from program.blocks.queries import sessions_of
from program.common import stored_rows
from program.common.edit_conflicts import refuse_unseen
from program.common.session_outlines import Dated, outline_of, write_sessions
from program.models import Block, BoardChange, Override, Part, Session, Slot

if TYPE_CHECKING:
    from athletes.models import User

LONGEST_SENTENCE: Final = 300


class CannotChange(Exception):
    """The board stays as it is; the message says why and what to do."""


def move(block: Block, order: str, by: "User", now: dt.datetime) -> BoardChange:
    """Do what a cell's button or a drop asks for: "move:session:version:day", or "copy:…".

    Raises CannotChange, EditConflict, and ValueError for an order that is none. 404 for another
    block's session.
    """
    verb, session_id, seen, day = _read(order)
    session = _unchanged(block, session_id, seen)
    if not block.holds(day):
        raise CannotChange(f"{weekday_and_date(day)} lies outside the block.")
    if verb == "copy":
        return _copied(block, session, day, by, now)
    if session.is_published:
        raise CannotChange(f"{session} is published: choose “Call off or move” on it.")
    before = session.date
    _put_on(session, day, by, now)
    told = f"{session.name} went from {weekday_and_date(before)} to {weekday_and_date(day)}."
    return record_change(block, told, by, now, moved=[[session.pk, str(before), str(day)]])


def _read(order: str) -> tuple[str, int, int, dt.date]:
    verb, session_id, version, day = order.split(":")
    session, seen = whole_number(session_id), whole_number(version)
    if verb not in {"move", "copy"} or session is None or seen is None:
        raise ValueError("not an order")
    return verb, session, seen, dt.date.fromisoformat(day)


def _unchanged(block: Block, session_id: int, seen: int) -> Session:
    """The session, locked. Raises EditConflict where somebody changed it since it was seen."""
    mine = block.sessions.filter(pk=session_id)
    mine.lock()
    session = mine.first()
    if session is None:
        raise Http404
    refuse_unseen(
        seen,
        session.version,
        f"{session} was changed since you saw it. Here is the block as it is now.",
    )
    return session


def _put_on(session: Session, day: dt.date, by: "User", now: dt.datetime) -> None:
    Session.objects.filter(pk=session.pk).update(
        date=day, version=F("version") + 1, edited_by=by, edited_at=now
    )


def _copied(
    block: Block, session: Session, day: dt.date, by: "User", now: dt.datetime
) -> BoardChange:
    whole = next(each for each in sessions_of(block) if each.pk == session.pk)
    made = write_sessions(block, [Dated(outline_of(whole), day)], by)
    told = f"{session.name} was copied to {weekday_and_date(day)}."
    return record_change(block, told, by, now, made=made)


def record_change(
    block: Block,
    sentence: str,
    by: "User",
    now: dt.datetime,
    *,
    made: Sequence[Session] = (),
    moved: Sequence[list[object]] = (),
    dropped: str = "",
    ended_on: dt.date | None = None,
) -> BoardChange:
    return BoardChange.objects.create(
        block=block,
        sentence=sentence[:LONGEST_SENTENCE],
        by=by,
        at=now,
        made=[[session.pk, session.version] for session in made],
        moved=list(moved),
        dropped=dropped,
        ended_on=ended_on,
    )


def delete_draft(block: Block, session: Session, by: "User", now: dt.datetime) -> BoardChange:
    """In a transaction, with the block and the session locked. Raises CannotChange for a session
    that somebody was sent."""
    told = f"{_called(session)} was deleted."
    try:
        dropped = delete_sessions([session.pk])
    except ProtectedError:
        raise CannotChange(f"{session} was published, so it stays.") from None
    return record_change(block, told, by, now, dropped=dropped)


@acting_for_the_program()
def delete_sessions(keys: Sequence[int]) -> str:
    """Delete sessions; their rows, as JSON, in the order in which they can be made again. Raises
    ProtectedError where one was sent to a child."""
    rows = [
        *Session.objects.filter(pk__in=keys),
        *Part.objects.filter(session__in=keys),
        *Slot.objects.filter(part__session__in=keys),
        *Override.objects.filter(slot__part__session__in=keys),
    ]
    dropped = stored_rows.as_text(rows)
    Session.objects.filter(pk__in=keys).delete()
    return dropped


def undo(change: BoardChange, by: "User", now: dt.datetime) -> list[str]:
    """Undo a change as far as nobody has worked on what it touched; what stays, one sentence each.

    In a transaction, with the block locked. Raises CannotChange where it is taken back already or
    the block has no room for it any more: then nothing is done, and it can be tried again.
    """
    if change.undone_at is not None:
        who = change.undone_by or "somebody"
        raise CannotChange(f"This was taken back already, by {who}.")
    gone = stored_rows.read(change.dropped)
    _refuse_outside(change, gone)
    sessions = _locked(change)
    _restore(gone)
    stays = [
        *_unmake(change, sessions),
        *_move_back(change, sessions, by, now),
        *_shorten(change),
    ]
    change.note_undone(by, now)
    return stays


def _locked(change: BoardChange) -> dict[int, Session]:
    touched = [row[0] for row in [*change.made, *change.moved]]
    rows = Session.objects.filter(block=change.block_id, pk__in=touched)
    rows.lock()
    return {session.pk: session for session in rows.select_related("edited_by")}


def sessions_with_choices(sessions: Iterable[Session]) -> set[int]:
    """The ids of those in which a coach decided something for a single child."""
    chosen = Override.objects.filter(slot__part__session__in=sessions)
    return set(chosen.values_list("slot__part__session", flat=True))


def _unmake(change: BoardChange, sessions: dict[int, Session]) -> list[str]:
    stays, goes = [], []
    chosen = sessions_with_choices(sessions.values())
    for pk, version in change.made:
        session = sessions.get(pk)
        if session is None:
            continue
        if session.is_published:
            stays.append(f"{_called(session)} is published, so it stays.")
        elif session.version != version:
            who = session.edited_by or "somebody"
            stays.append(f"{_called(session)} was changed since by {who}, so it stays.")
        elif pk in chosen:
            stays.append(f"{_called(session)} holds a choice made for a child, so it stays.")
        else:
            goes.append(pk)
    with acting_for_the_program():
        Session.objects.filter(pk__in=goes).delete()
    return stays


def _move_back(
    change: BoardChange, sessions: dict[int, Session], by: "User", now: dt.datetime
) -> list[str]:
    stays = []
    for pk, before, after in change.moved:
        session = sessions.get(pk)
        if session is None:
            stays.append("A session that was moved is not there any more.")
        elif session.is_published:
            stays.append(f"{_called(session)} is published, so it stays.")
        elif session.date != dt.date.fromisoformat(after):
            stays.append(f"{_called(session)} was moved again since, so it stays.")
        else:
            _put_on(session, dt.date.fromisoformat(before), by, now)
    return stays


def _refuse_outside(change: BoardChange, gone: stored_rows.Rows) -> None:
    """Raise CannotChange where the block was shortened since and would not show what comes back."""
    days = [dt.date.fromisoformat(before) for _, before, _ in change.moved]
    days += [row.object.date for row in gone if isinstance(row.object, Session)]
    for day in days:
        if not change.block.holds(day):
            raise CannotChange(
                f"The block does not hold {weekday_and_date(day)} any more. Make it longer, then "
                "take this back."
            )


def _restore(gone: stored_rows.Rows) -> None:
    """Make what was dropped again."""
    try:
        with transaction.atomic(), acting_for_the_program():
            stored_rows.insert(gone)
    except IntegrityError:
        why = "What was taken out cannot come back: something it needs is gone."
        raise CannotChange(why) from None


def _shorten(change: BoardChange) -> list[str]:
    """The block ends again where it did, unless something lies beyond by now."""
    if change.ended_on is None:
        return []
    last = change.block.sessions.aggregate(last=Max("date"))["last"]
    if last and last > change.ended_on:
        return ["The block stays as long as it is: there is a session at its end."]
    Block.objects.filter(pk=change.block_id).update(ends_on=change.ended_on)
    return []


def _called(session: Session) -> str:
    return f"{session.name} of {weekday_and_date(session.date)}"
