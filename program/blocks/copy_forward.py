"""A session or a week copied to other weeks: looked at first, then done."""

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from program.blocks.board_changes import CannotChange, record_change
from program.common.edit_conflicts import mark_of
from program.common.session_outlines import Dated, outline_of, write_sessions
from program.engine.copy_forward import Beyond, Change, CopiedSession, copied
from program.engine.dose.dose import DELOAD_IN_WORDS
from program.engine.fit.library import FitLibrary
from program.engine.weeks import A_WEEK
from program.models import Block, BoardChange, Session

if TYPE_CHECKING:
    from athletes.models import User

CHANGES: Final = {
    Change.NOTHING: "nothing, the same again",
    Change.ROUND: "one more round",
    Change.REPETITIONS: "2 more repetitions",
    Change.SECONDS: "5 more seconds",
    Change.NEXT: "the next exercise on its pathway",
    Change.DELOAD: f"a deload to {DELOAD_IN_WORDS}",
}
BEYOND: Final = {
    Beyond.STAY: "leave that exercise as it was",
    Beyond.END: "go as far as the range goes",
}


@dataclass(frozen=True)
class CopyRequest:
    """What is to be copied, to which weeks, changed how.

    `once_more` makes the change once in the first of the weeks, twice in the second and so on;
    a deload is made once in each. `beside` also writes onto weeks that hold sessions already.
    """

    week: int
    session_id: int | None
    to: tuple[int, ...]
    change: Change = Change.NOTHING
    beyond: Beyond = Beyond.STAY
    once_more: bool = True
    beside: bool = False

    def times(self, at: int) -> int:
        return at if self.once_more and self.change is not Change.DELOAD else 1


@dataclass(frozen=True)
class Copy:
    """One session as it will stand on a day. `cannot` says why it will not."""

    source: Session
    day: dt.date
    copied: CopiedSession
    cannot: str = ""


@dataclass(frozen=True)
class Target:
    """What a week gets; `left_out` says why it gets nothing, `beside` what is there already."""

    number: int
    copies: tuple[Copy, ...]
    left_out: str = ""
    beside: str = ""

    @property
    def made(self) -> tuple[Copy, ...]:
        return () if self.left_out else tuple(copy for copy in self.copies if not copy.cannot)


@dataclass(frozen=True)
class CopyPreview:
    """What copying would do to the block as it is now; `mark` is another one after any edit."""

    block: Block
    asked: CopyRequest
    sources: tuple[Session, ...]
    targets: tuple[Target, ...]
    mark: str

    @cached_property
    def made(self) -> tuple[Copy, ...]:
        return tuple(copy for target in self.targets for copy in target.made)

    @property
    def is_unchanged(self) -> bool:
        """Whether a change was asked for that changes nothing anywhere."""
        wants_change = self.asked.change is not Change.NOTHING
        return wants_change and not any(copy.copied.differences for copy in self.made)

    @property
    def what(self) -> str:
        if self.asked.session_id is None:
            return f"Week {self.asked.week}"
        return self.sources[0].name

    @property
    def sentence(self) -> str:
        """What was done, for whoever reads it later."""
        weeks = numbers_in_words([target.number for target in self.targets if target.made])
        return f"{self.what} was copied to {weeks}: {CHANGES[self.asked.change]}."


def numbers_in_words(numbers: Sequence[int]) -> str:
    """ "week 3", "weeks 2 to 8", "weeks 2, 4 and 6"."""
    if len(numbers) == 1:
        return f"week {numbers[0]}"
    if list(numbers) == list(range(numbers[0], numbers[-1] + 1)) and len(numbers) > 2:
        return f"weeks {numbers[0]} to {numbers[-1]}"
    return f"weeks {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def preview(
    block: Block, sessions: Sequence[Session], asked: CopyRequest, library: FitLibrary
) -> CopyPreview:
    """`sessions` are all of the block, with the library; those copied are found among them."""
    by_week: dict[int, list[Session]] = {}
    for session in sessions:
        by_week.setdefault(block.week_of(session.date), []).append(session)
    sources = tuple(
        session for session in by_week.get(asked.week, []) if asked.session_id in (None, session.pk)
    )
    targets = tuple(
        _target(block, sources, number, asked, asked.times(at), by_week.get(number, []), library)
        for at, number in enumerate(sorted(asked.to), 1)
    )
    touched = [*sources, *(s for number in asked.to for s in by_week.get(number, []))]
    told = f"{asked}|{mark_of(touched)}|{block.starts_on}|{block.ends_on}"
    return CopyPreview(
        block, asked, sources, targets, hashlib.sha256(told.encode()).hexdigest()[:16]
    )


def _target(
    block: Block,
    sources: Sequence[Session],
    number: int,
    asked: CopyRequest,
    times: int,
    there: Sequence[Session],
    library: FitLibrary,
) -> Target:
    copies = tuple(_copy(block, source, number, asked, times, library) for source in sources)
    published = sum(session.is_published for session in there)
    what = f"{_sessions(published)} published" if published else f"{_sessions(len(there))} written"
    if there and not asked.beside:
        return Target(number, copies, left_out=f"It has {what}, so nothing is put there.")
    return Target(number, copies, beside=f"Beside {what} already." if there else "")


def _copy(
    block: Block, source: Session, number: int, asked: CopyRequest, times: int, library: FitLibrary
) -> Copy:
    became = copied(outline_of(source), asked.change, library, times=times, beyond=asked.beyond)
    day = source.date + (number - block.week_of(source.date)) * A_WEEK
    cannot = "" if day <= block.ends_on else "The block has ended by then."
    return Copy(source, day, became, cannot)


def _sessions(count: int) -> str:
    return "1 session" if count == 1 else f"{count} sessions"


def copy_sessions(shown: CopyPreview, by: "User", now: dt.datetime) -> BoardChange:
    """Write what the preview shows. In a transaction, with the block and its sessions locked.

    Raises CannotChange where there is nothing to write.
    """
    if not shown.made:
        raise CannotChange("There is nothing to copy like this. Choose a week that is free.")
    dated = [Dated(copy.copied.session, copy.day) for copy in shown.made]
    made = write_sessions(shown.block, dated, by)
    return record_change(shown.block, shown.sentence, by, now, made=made)
