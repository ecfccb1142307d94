"""What the list of blocks shows: blocks by cohort; and the day a new session is offered."""

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Count

from athletes.models import Cohort
from library.shared.ids import whole_number
from program.common.loaders import cohorts_of
from program.models import Block

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
        return self.block.holds(self.today)


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


def begins_like(user: "User", cohort: str) -> dict[str, Any]:
    """What a new block begins with: a cohort's, if this is one, with the pauses of its latest."""
    number = whole_number(cohort)
    if number is None:
        return {}
    latest = Block.objects.visible_to(user).filter(cohort_id=number).first()
    return {"cohort": number, **(latest.pauses if latest else {})}


def first_free_day(block: Block, asked: str, today: dt.date) -> dt.date:
    """The day a new session is offered: the one asked for, else today, within the block."""
    try:
        day = dt.date.fromisoformat(asked)
    except ValueError:
        day = today
    return min(max(day, block.starts_on), block.ends_on)
