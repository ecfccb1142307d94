"""The board of a block as its template reads it: weeks across, days down, sessions as cells.

Whatever the block holds, its sessions are read in four queries, with the library shared among
them: `plan_of` asks nothing more.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from django.urls import reverse
from django.utils.formats import date_format

from program.blocks.progressions import ProgressionSheet, progression_sheet
from program.blocks.queries import sessions_of
from program.checks.block_checks import BlockResults, results_for_block
from program.common.edit_conflicts import mark_of
from program.common.idempotency import new_idempotency_key
from program.common.session_plan import Plan, plan_of
from program.engine.checks import CheckResult
from program.engine.weeks import A_DAY, A_WEEK, days_of_week, week_end
from program.engine.wording import pattern_in_words
from program.models import Block, BoardChange, Break, Session

CHANGES_SHOWN: Final = 5


@dataclass(frozen=True)
class Move:
    """A button of a cell: `what` it says, and the order it sends."""

    what: str
    key: str
    order: str


@dataclass(frozen=True)
class Cell:
    """A session on the board."""

    session: Session
    plan: Plan
    moves: tuple[Move, ...] = ()
    results: tuple[CheckResult, ...] = ()

    @property
    def key(self) -> str:
        return f"cell-{self.session.pk}"

    @cached_property
    def called(self) -> str:
        return f"{self.session.name} of {date_format(self.session.date, 'l j F')}"

    @property
    def minutes(self) -> int:
        return round(self.plan.seconds / 60)

    @property
    def state(self) -> str:
        """What is the matter with it, in a word or three."""
        if self.session.is_called_off:
            return "called off"
        if self.plan.problems:
            return "cannot go out"
        if self.session.is_edited_since_publishing:
            return "edited since publishing"
        if self.session.is_published:
            return "published"
        return "draft" if self.plan.steps else "empty"

    @property
    def tag(self) -> str:
        tags = {
            "published": "good",
            "called off": "look",
            "edited since publishing": "look",
            "cannot go out": "stop",
        }
        return tags.get(self.state, "plain")

    @property
    def patterns(self) -> str:
        """The movement patterns, those with most sets first."""
        return ", ".join(map(pattern_in_words, self.plan.volume.patterns_by_sets[:4]))


@dataclass(frozen=True)
class Day:
    date: dt.date
    cells: tuple[Cell, ...]
    is_away: bool


@dataclass(frozen=True)
class BoardWeek:
    """A week of the block, counted from its first day; the last one may be shorter."""

    number: int
    days: tuple[Day, ...]
    breaks: tuple[Break, ...]
    is_now: bool
    results: tuple[CheckResult, ...] = ()

    @property
    def starts(self) -> dt.date:
        return self.days[0].date

    @property
    def ends(self) -> dt.date:
        return self.days[-1].date

    @cached_property
    def cells(self) -> list[Cell]:
        return [cell for day in self.days for cell in day.cells]

    @property
    def to_publish(self) -> int:
        """Sessions that families have not got as they stand."""
        waiting = {"draft", "edited since publishing"}
        return sum(cell.state in waiting for cell in self.cells)

    @property
    def mark(self) -> str:
        return mark_of(cell.session for cell in self.cells)

    @property
    def told(self) -> str:
        """How much there is in it, in words."""
        if not self.cells:
            return "nothing yet"
        count, minutes = len(self.cells), sum(cell.minutes for cell in self.cells)
        return f"{count} session{'' if count == 1 else 's'}, {minutes} min"


@dataclass
class Board:
    """`said` is a sentence about what was just done or why it was not."""

    block: Block
    sessions: Sequence[Session]
    changes: Sequence[BoardChange]
    breaks: Sequence[Break]
    today: dt.date
    said: str = ""
    is_refusal: bool = False

    def __post_init__(self) -> None:
        self.idempotency_key = new_idempotency_key()

    @cached_property
    def plans(self) -> dict[int, Plan]:
        return {session.pk: plan_of(session) for session in self.sessions}

    @cached_property
    def results(self) -> BlockResults:
        taking_place = [each for each in self.sessions if not each.is_called_off]
        return results_for_block(self.block, taking_place, self.plans)

    @cached_property
    def progressions(self) -> ProgressionSheet:
        return progression_sheet(self.block, self.sessions)

    @cached_property
    def weekdays(self) -> list[dt.date]:
        """The days of a week of this block, for their names."""
        return days_of_week(self.block.starts_on)

    @cached_property
    def weeks(self) -> list[BoardWeek]:
        return [self._week(number) for number in range(1, self.block.weeks + 1)]

    @property
    def first_url(self) -> str:
        return reverse("program:session_new", args=[self.block.pk])

    def _week(self, number: int) -> BoardWeek:
        starts = self.block.week_starts(number)
        ends = min(week_end(starts), self.block.ends_on)
        days = [day for day in days_of_week(starts) if day <= ends]
        return BoardWeek(
            number=number,
            days=tuple(self._day(day) for day in days),
            breaks=tuple(b for b in self.breaks if b.first <= ends and b.last >= starts),
            is_now=starts <= self.today <= ends,
            results=self.results.of_week(number),
        )

    def _day(self, day: dt.date) -> Day:
        is_away = any(away.holds(day) for away in self.breaks)
        return Day(day, tuple(self._cells.get(day, ())), is_away)

    @cached_property
    def _cells(self) -> dict[dt.date, list[Cell]]:
        cells: dict[dt.date, list[Cell]] = {}
        for session in self.sessions:
            cell = Cell(
                session,
                self.plans[session.pk],
                tuple(self._moves(session)),
                self.results.of_session(session.pk),
            )
            cells.setdefault(session.date, []).append(cell)
        return cells

    def _moves(self, session: Session) -> Iterable[Move]:
        day, first, last = session.date, self.block.starts_on, self.block.ends_on
        ways = [
            ("A week earlier", "earlier", "move", day - A_WEEK),
            ("A week later", "later", "move", day + A_WEEK),
            ("A day earlier", "before", "move", day - A_DAY),
            ("A day later", "after", "move", day + A_DAY),
            ("Copy to the week after", "copy", "copy", day + A_WEEK),
        ]
        for what, key, verb, to in ways:
            if first <= to <= last and (verb == "copy" or not session.is_published):
                yield Move(what, key, f"{verb}:{session.pk}:{session.version}:{to}")


def board_of(
    block: Block,
    today: dt.date,
    said: str = "",
    *,
    refused: bool = False,
) -> Board:
    changes = (
        BoardChange.objects.filter(block=block).standing().select_related("by")[:CHANGES_SHOWN]
    )
    breaks = list(Break.objects.touching(block))
    return Board(block, sessions_of(block), list(changes), breaks, today, said, refused)
