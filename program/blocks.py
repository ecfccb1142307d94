"""What the pages of blocks show: blocks by cohort, and a block's weeks with their sessions."""

import datetime as dt
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from django.db.models import Count

from athletes.models import Cohort
from program.loaders import cohorts_of
from program.models import Block, Session
from program.once import new_key
from program.taken_out import TakenOut

if TYPE_CHECKING:
    from athletes.models import User


@dataclass(frozen=True)
class BlockLine:
    """A block in the list: how far it is, and how many of its sessions are published."""

    block: Block
    today: dt.date
    sessions: int
    published: int

    @property
    def when(self) -> str:
        block = self.block
        if self.today < block.starts_on:
            return "to come"
        if self.today > block.ends_on:
            return "over"
        return f"week {block.week_of(self.today)} of {block.weeks}"

    @property
    def is_running(self) -> bool:
        return self.block.starts_on <= self.today <= self.block.ends_on


@dataclass(frozen=True)
class CohortBlocks:
    cohort: Cohort
    lines: list[BlockLine]


def blocks_by_cohort(user: "User", today: dt.date) -> list[CohortBlocks]:
    """Every cohort the coach sees, with its blocks, the latest first."""
    blocks = Block.objects.visible_to(user).annotate(
        written=Count("sessions"), published=Count("sessions__published_at")
    )
    blocks = blocks.order_by("-starts_on", "name")
    lines: dict[int, list[BlockLine]] = {}
    block: Any
    for block in blocks:
        line = BlockLine(block, today, block.written, block.published)
        lines.setdefault(block.cohort_id, []).append(line)
    return [CohortBlocks(cohort, lines.get(cohort.pk, [])) for cohort in cohorts_of(user)]


@dataclass(frozen=True)
class SessionLine:
    session: Session
    exercises: int

    @property
    def state(self) -> str:
        """What is the matter with it, in a word or three."""
        if self.session.is_edited_since_publishing:
            return "edited since publishing"
        if self.session.is_published:
            return "published"
        return "not published" if self.exercises else "empty"

    @property
    def tag(self) -> str:
        return {"published": "good", "edited since publishing": "look"}.get(self.state, "plain")


@dataclass(frozen=True)
class Week:
    number: int
    monday: dt.date
    starts: dt.date
    ends: dt.date
    lines: list[SessionLine]
    gone: list[TakenOut]
    is_now: bool


@dataclass
class BlockPage:
    block: Block
    lines: list[SessionLine]
    gone: list[TakenOut]
    today: dt.date

    def __post_init__(self) -> None:
        self.once = new_key()

    @cached_property
    def weeks(self) -> list[Week]:
        return [self._week(number) for number in range(1, self.block.weeks + 1)]

    def _week(self, number: int) -> Week:
        starts = self.block.starts_on + dt.timedelta(weeks=number - 1)
        ends = min(starts + dt.timedelta(days=6), self.block.ends_on)
        return Week(
            number=number,
            monday=starts - dt.timedelta(days=starts.weekday()),
            starts=starts,
            ends=ends,
            lines=[line for line in self.lines if starts <= line.session.date <= ends],
            gone=[out for out in self.gone if starts <= out.date <= ends],
            is_now=starts <= self.today <= ends,
        )


def block_page(block: Block, gone: list[TakenOut], today: dt.date) -> BlockPage:
    """The block's weeks with their sessions, in one query."""
    counted = block.sessions.annotate(exercises=Count("parts__slots"))
    sessions: Any = counted.order_by("date", "id")
    return BlockPage(block, [SessionLine(s, s.exercises) for s in sessions], gone, today)


def first_free_day(block: Block, asked: str, today: dt.date) -> dt.date:
    """The day a new session is offered: the one asked for, else today, within the block."""
    try:
        day = dt.date.fromisoformat(asked)
    except ValueError:
        day = today
    return min(max(day, block.starts_on), block.ends_on)
