"""A block's sessions cleared out of a break: looked at first, then done; it can be taken back."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from django.db.models import Case, F, Value, When

from program.blocks.board_changes import (
    CannotChange,
    delete_sessions,
    record_change,
    sessions_with_choices,
)
from program.common.edit_conflicts import mark_of
from program.engine.breaks import Cleared, InBreak, Placed, clear
from program.models import Block, BoardChange, Break, Session

if TYPE_CHECKING:
    from athletes.models import User

WAYS: Final = {
    InBreak.LATER: "move them, and all that come after, later by whole weeks",
    InBreak.DROP: "take them out",
}


@dataclass(frozen=True)
class Clearing:
    """What clearing a break would do; `mark` is another one after any edit."""

    block: Block
    away: Break
    way: InBreak
    cleared: Cleared
    mark: str

    @property
    def is_longer(self) -> bool:
        return self.cleared.ends_on > self.block.ends_on

    @property
    def sentence(self) -> str:
        count = len(self.cleared.changes)
        what = "1 session was" if count == 1 else f"{count} sessions were"
        done = "moved later" if any(fate.to for fate in self.cleared.changes) else "taken out"
        return f"{self.away}: {what} {done}."


def preview_clearing(
    block: Block, away: Break, way: InBreak, sessions: Sequence[Session]
) -> Clearing:
    """`sessions` are all of the block, by day."""
    chosen = sessions_with_choices(sessions)
    placed = [Placed(s.pk, s.name, s.date, s.is_published, s.pk in chosen) for s in sessions]
    cleared = clear(
        placed, away.first, away.last, way, starts_on=block.starts_on, ends_on=block.ends_on
    )
    mark = f"{mark_of(sessions)}{block.ends_on}{away.first}{away.last}{way}"
    return Clearing(block, away, way, cleared, mark)


def clear_sessions(shown: Clearing, by: "User", now: dt.datetime) -> BoardChange:
    """Do what was shown. In a transaction, with the block and its sessions locked.

    Raises CannotChange where nothing may be moved or taken out.
    """
    changes = shown.cleared.changes
    if not changes:
        raise CannotChange("There is nothing in it that may be moved or taken out.")
    gone = [fate.placed.key for fate in changes if fate.to is None]
    to = {fate.placed.key: fate.to for fate in changes if fate.to is not None}
    moved = [[fate.placed.key, str(fate.placed.day), str(fate.to)] for fate in changes if fate.to]
    dropped = delete_sessions(gone) if gone else ""
    if to:
        days = [When(pk=key, then=Value(day)) for key, day in to.items()]
        Session.objects.filter(pk__in=to).update(
            date=Case(*days, default=F("date")),
            version=F("version") + 1,
            edited_by=by,
            edited_at=now,
        )
    ended_on = shown.block.ends_on if shown.is_longer else None
    if shown.is_longer:
        Block.objects.filter(pk=shown.block.pk).update(ends_on=shown.cleared.ends_on)
    return record_change(
        shown.block, shown.sentence, by, now, moved=moved, dropped=dropped, ended_on=ended_on
    )
