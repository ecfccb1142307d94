"""A session or a week copied to other weeks: looked at first, then done."""

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import TYPE_CHECKING, Final

from program.blocks.board_changes import (
    CannotChange,
    delete_sessions,
    record_change,
    sessions_with_choices,
)
from program.common.edit_conflicts import mark_of
from program.common.library_snapshot import LibrarySnapshot
from program.common.session_outlines import Dated, outline_of, write_sessions
from program.common.session_plan import plan_of_outline
from program.engine.copy_forward import DELOAD_PERCENT, Beyond, Change, CopiedSession, copied
from program.engine.outline import SessionOutline
from program.engine.timeline import PartKind
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
    Change.DELOAD: "a deload, less of the work",
}
BEYOND: Final = {
    Beyond.STAY: "leave that exercise as it was",
    Beyond.END: "go as far as the range goes",
}


class Taken(StrEnum):
    """What a copy does to a week that holds sessions already: SKIP the week, stand BESIDE them, or
    REPLACE them. What is published stays."""

    SKIP = "skip"
    BESIDE = "beside"
    REPLACE = "replace"


TAKEN: Final = {
    Taken.SKIP: "leave that week as it is",
    Taken.BESIDE: "add the copy to them",
    Taken.REPLACE: "replace the drafts that stand there",
}


@dataclass(frozen=True)
class CopyRequest:
    """What is to be copied, to which weeks, changed how.

    `once_more` makes the change once in the first of the weeks, twice in the second and so on;
    a deload, which leaves the `share` of the work in percent, is made once in each. `also` are the
    kinds of part that are no work and are changed, too.
    """

    week: int
    session_id: int | None
    to: tuple[int, ...]
    change: Change = Change.NOTHING
    beyond: Beyond = Beyond.STAY
    once_more: bool = True
    taken: Taken = Taken.SKIP
    share: int = DELOAD_PERCENT
    also: tuple[PartKind, ...] = ()

    @property
    def in_words(self) -> str:
        """What is different in the copy."""
        is_deload = self.change is Change.DELOAD
        return f"a deload to {self.share} %" if is_deload else CHANGES[self.change]

    def times(self, at: int) -> int:
        return at if self.once_more and self.change is not Change.DELOAD else 1


@dataclass(frozen=True)
class Totals:
    """What a session comes to: whole minutes, sets, and ground contacts."""

    minutes: int
    sets: int
    contacts: int

    def __add__(self, other: "Totals") -> "Totals":
        return Totals(
            self.minutes + other.minutes,
            self.sets + other.sets,
            self.contacts + other.contacts,
        )

    def became(self, after: "Totals") -> str:
        """Before and after: "24 to 18 min, 12 sets" where the sets stay."""
        told = [f"{_from(self.minutes, after.minutes)} min", f"{_from(self.sets, after.sets)} sets"]
        if self.contacts or after.contacts:
            told.append(f"{_from(self.contacts, after.contacts)} ground contacts")
        return ", ".join(told)


def _from(before: int, after: int) -> str:
    return str(after) if before == after else f"{before} to {after}"


@dataclass(frozen=True)
class Copy:
    """One session as it will stand on a day, and what it comes to `before` the change and `after`.
    `cannot` says why it will not."""

    source: Session
    day: dt.date
    copied: CopiedSession
    before: Totals
    after: Totals
    cannot: str = ""

    @property
    def comes_to(self) -> str:
        return self.before.became(self.after)


@dataclass(frozen=True)
class Target:
    """What a week gets; `left_out` says why it gets nothing, `beside` what is there already, and
    `replaced` are the drafts that go."""

    number: int
    copies: tuple[Copy, ...]
    left_out: str = ""
    beside: str = ""
    replaced: tuple[Session, ...] = ()

    @property
    def made(self) -> tuple[Copy, ...]:
        return () if self.left_out else tuple(copy for copy in self.copies if not copy.cannot)

    @property
    def comes_to(self) -> str:
        """All that it gets together; "" where that is one session at most."""
        if len(self.made) < 2:
            return ""
        nothing = Totals(0, 0, 0)
        before = sum((copy.before for copy in self.made), nothing)
        return before.became(sum((copy.after for copy in self.made), nothing))


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
    def replaced(self) -> list[Session]:
        """Each once, of the weeks that get something."""
        return [session for target in self.targets if target.made for session in target.replaced]

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
        gone = len(self.replaced)
        instead = f" It replaced {_sessions(gone)}." if gone else ""
        return f"{self.what} was copied to {weeks}: {self.asked.in_words}.{instead}"


def numbers_in_words(numbers: Sequence[int]) -> str:
    """ "week 3", "weeks 2 to 8", "weeks 2, 4 and 6"."""
    if len(numbers) == 1:
        return f"week {numbers[0]}"
    if list(numbers) == list(range(numbers[0], numbers[-1] + 1)) and len(numbers) > 2:
        return f"weeks {numbers[0]} to {numbers[-1]}"
    return f"weeks {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def preview(
    block: Block, sessions: Sequence[Session], asked: CopyRequest, library: LibrarySnapshot
) -> CopyPreview:
    """`sessions` are all of the block, with the library; those copied are found among them."""
    by_week: dict[int, list[Session]] = {}
    for session in sessions:
        by_week.setdefault(block.week_of(session.date), []).append(session)
    sources = tuple(
        session for session in by_week.get(asked.week, []) if asked.session_id in (None, session.pk)
    )
    touched = [*sources, *(s for number in asked.to for s in by_week.get(number, []))]
    making = _Making(block, asked, library, sessions_with_choices(touched))
    targets = tuple(
        making.target(sources, number, asked.times(at), by_week.get(number, []))
        for at, number in enumerate(sorted(asked.to), 1)
    )
    told = f"{asked}|{mark_of(touched)}|{block.starts_on}|{block.ends_on}|{making.chosen}"
    return CopyPreview(
        block, asked, sources, targets, hashlib.sha256(told.encode()).hexdigest()[:16]
    )


@dataclass(frozen=True)
class _Making:
    """Makes the copies; in the sessions of `chosen`, by key, something is decided for a child."""

    block: Block
    asked: CopyRequest
    library: LibrarySnapshot
    chosen: set[int]

    def target(
        self, sources: Sequence[Session], number: int, times: int, there: Sequence[Session]
    ) -> Target:
        copies = tuple(self._copy(source, number, times) for source in sources)
        if self.asked.taken is Taken.REPLACE:
            return self._replacing(number, copies, there)
        if there and self.asked.taken is Taken.SKIP:
            return Target(
                number, copies, left_out=f"It has {_what(there)}, so nothing is put there."
            )
        return Target(number, copies, beside=f"Beside {_what(there)} already." if there else "")

    def _replacing(self, number: int, copies: tuple[Copy, ...], there: Sequence[Session]) -> Target:
        """A week is replaced as a whole, a session by what stands on its day."""
        days = {copy.day for copy in copies}
        whole = self.asked.session_id is None
        meant = [session for session in there if whole or session.date in days]
        if any(session.is_published for session in meant):
            why = "What is published there stays, so nothing is put there."
            return Target(number, copies, left_out=why)
        if any(session.pk in self.chosen for session in meant):
            why = "Something is decided for a child in what stands there, so nothing is put there."
            return Target(number, copies, left_out=why)
        return Target(number, copies, replaced=tuple(meant))

    def _copy(self, source: Session, number: int, times: int) -> Copy:
        asked, outline = self.asked, outline_of(source)
        became = copied(
            outline,
            asked.change,
            self.library.fit,
            times=times,
            beyond=asked.beyond,
            share=asked.share,
            also=asked.also,
        )
        day = source.date + (number - self.block.week_of(source.date)) * A_WEEK
        cannot = "" if day <= self.block.ends_on else "The block has ended by then."
        before, after = self._totals(outline), self._totals(became.session)
        return Copy(source, day, became, before, after, cannot)

    def _totals(self, outline: SessionOutline) -> Totals:
        plan = plan_of_outline(outline, self.library.revisions, self.block.pace)
        work = plan.volume.total
        return Totals(round(plan.seconds / 60), work.sets, round(work.ground_contacts))


def _what(there: Sequence[Session]) -> str:
    published = sum(session.is_published for session in there)
    return f"{_sessions(published)} published" if published else f"{_sessions(len(there))} written"


def _sessions(count: int) -> str:
    return "1 session" if count == 1 else f"{count} sessions"


def copy_sessions(shown: CopyPreview, by: "User", now: dt.datetime) -> BoardChange:
    """Write what the preview shows. In a transaction, with the block and its sessions locked.

    Raises CannotChange where there is nothing to write.
    """
    if not shown.made:
        raise CannotChange("There is nothing to copy like this. Choose a week that is free.")
    gone = [session.pk for session in shown.replaced]
    dropped = delete_sessions(gone) if gone else ""
    dated = [Dated(copy.copied.session, copy.day) for copy in shown.made]
    made = write_sessions(shown.block, dated, by)
    return record_change(shown.block, shown.sentence, by, now, made=made, dropped=dropped)
