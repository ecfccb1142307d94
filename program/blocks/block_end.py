"""What is to be seen to when a block ends, on one page: reports, what follows, holidays and where
the children stand."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.db.models import Count, Exists, OuterRef

from athletes.models import Child, Placement
from program.engine.breaks import covers
from program.engine.weeks import A_DAY, A_WEEK
from program.engine.wording import listed, plural
from program.models import Block, Break, Report
from program.report.writing import without_report

if TYPE_CHECKING:
    from athletes.models import User

LOOKS_ON: Final = 4 * A_WEEK
"""How far holidays are looked for where no block follows."""


@dataclass(frozen=True)
class Following:
    """The cohort's next block, and how many sessions are written in it."""

    block: Block
    sessions: int


@dataclass(frozen=True)
class BlockEnd:
    """`unsent` are the children whose family has no report of the block yet; of `children`, those
    of the cohort on its last day, some are `unplaced` anywhere, and some `unmoved` on any pathway
    since the block began."""

    block: Block
    sent: int
    unsent: int
    following: Following | None
    breaks: Sequence[Break]
    children: int
    unplaced: int
    unmoved: int

    @property
    def placed(self) -> str:
        """Where the children stand, in a sentence."""
        nowhere = f"{plural(self.unplaced, 'child is', 'children are')} placed nowhere"
        unmoved = f"{plural(self.unmoved, 'child was', 'children were')} not placed anew"
        told = [nowhere] if self.unplaced else []
        told += [f"{unmoved} since the block began"] if self.unmoved else []
        if told:
            return f"{listed(told)}."
        return "Everybody was placed anew since the block began." if self.children else ""

    @property
    def free(self) -> tuple[dt.date, dt.date] | None:
        """The days between this block and the next that no block and no break covers all of."""
        if self.following is None:
            return None
        first, last = self.block.ends_on + A_DAY, self.following.block.starts_on - A_DAY
        away = [(each.first, each.last) for each in self.breaks]
        return None if first > last or covers(away, first, last) else (first, last)


def end_of(user: "User", block: Block) -> BlockEnd:
    """In a fixed number of queries."""
    reports = Report.objects.written_by(user).filter(block=block)
    sent = reports.sent().count()
    following = _following(user, block)
    until = following.block.starts_on if following else block.ends_on + LOOKS_ON
    enrolled = Child.objects.visible_to(user).enrolled_in(block.cohort, block.ends_on)
    placed = Placement.objects.filter(child=OuterRef("pk")).current()
    moved = placed.filter(placed_at__date__gte=block.starts_on)
    stand = list(
        enrolled.annotate(placed=Exists(placed), moved=Exists(moved)).values_list("placed", "moved")
    )
    return BlockEnd(
        block=block,
        sent=sent,
        unsent=reports.count() - sent + without_report(block),
        following=following,
        breaks=list(
            Break.objects.visible_to(user)
            .meant_for(block.cohort_id)
            .filter(first__lte=until, last__gte=block.ends_on)
        ),
        children=len(stand),
        unplaced=sum(not is_placed for is_placed, _ in stand),
        unmoved=sum(is_placed and not has_moved for is_placed, has_moved in stand),
    )


def _following(user: "User", block: Block) -> Following | None:
    later: Any = Block.objects.visible_to(user).filter(
        cohort=block.cohort_id, starts_on__gt=block.ends_on
    )
    found = later.annotate(written=Count("sessions")).order_by("starts_on", "pk").first()
    return Following(found, found.written) if found else None
