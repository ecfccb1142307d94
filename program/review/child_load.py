"""One child week by week: what was done of what was assigned, what it cost, and left against right.

Read in three queries; the rules are `engine.load`, `engine.attendance` and `engine.balance`.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import median
from typing import TYPE_CHECKING, Final, NamedTuple

from django.db.models import Q

from athletes.models import Child
from library.shared.lanes import Cell, Lane, MarkKind
from program.common.charts import Columns, columns
from program.common.lanes import mark_of
from program.engine.attendance import (
    NOBODY_LOOKED,
    NOTHING_YET,
    Adherence,
    CouldNot,
    Due,
    InTheHall,
    adherence,
    in_the_hall,
    told,
)
from program.engine.balance import Balance, Reading, balance
from program.engine.days import hardest_of_each_day
from program.engine.load import (
    Usual,
    monotony,
    session_load,
    smoothed,
    strain,
    usual,
    week_load,
)
from program.engine.weeks import A_WEEK, days_of_week, monday_of, week_end
from program.models import AssignedSession, Attendance, CompletionState, SlotResult

if TYPE_CHECKING:
    from athletes.models import User

WEEKS: Final = 12


class Row(NamedTuple):
    """An assigned session, and its log as far as there is one. What it cost counts on the day it
    was done; whether it came about, on the day it was written for."""

    pk: int
    on: dt.date
    state: str | None
    effort: int | None
    minutes: int | None
    absence: str | None
    could_not: str
    done_on: dt.date | None

    @property
    def felt_on(self) -> dt.date:
        """The day whose load it is."""
        return self.done_on or self.on

    @property
    def due(self) -> Due:
        said = told(self.state or "", self.absence or "")
        return Due(self.pk, self.on, said, CouldNot(self.could_not))

    @property
    def load(self) -> float | None:
        """0 where nothing was done, None where nobody told enough to know."""
        if self.state == CompletionState.NOT_DONE or self.is_called_off:
            return 0
        if not self.state or self.effort is None or self.minutes is None:
            return None
        return session_load(self.effort, self.minutes)

    @property
    def is_called_off(self) -> bool:
        return not self.state and self.could_not == CouldNot.CALLED_OFF

    @property
    def is_no_mark(self) -> bool:
        """Nothing came of it, and nothing could."""
        return self.is_called_off or (not self.state and self.could_not == CouldNot.NOTED)

    @property
    def is_done(self) -> bool:
        """Whole: of a part nobody knows which."""
        return self.state == CompletionState.DONE

    def mark(self, today: dt.date) -> MarkKind:
        return mark_of(self.state, self.on, today)


@dataclass(frozen=True)
class Week:
    """`rows` were written for this week, `felt` count in its load."""

    monday: dt.date
    rows: tuple[Row, ...]
    felt: tuple[Row, ...]
    today: dt.date

    @cached_property
    def _days(self) -> list[float | None]:
        """Load by day; a day that has not come yet is not known."""
        return [self._load_on(day) for day in days_of_week(self.monday)]

    def _load_on(self, day: dt.date) -> float | None:
        loads = [row.load for row in self.felt if row.felt_on == day]
        if day > self.today or None in loads:
            return None
        return sum(load for load in loads if load is not None)

    @property
    def load(self) -> float | None:
        return week_load(self._days)

    @property
    def monotony(self) -> float | None:
        return monotony(self._days)

    @property
    def strain(self) -> float | None:
        return strain(self._days)

    @property
    def came_of_it(self) -> Adherence:
        return adherence([row.due for row in self.rows], self.today)

    @property
    def effort(self) -> str:
        """The middle of what was rated, "" where nothing was."""
        rated = [row.effort for row in self.felt if row.effort is not None]
        return f"{median(rated):g}" if rated else ""

    @property
    def name(self) -> str:
        return f"{self.monday.day} {self.monday:%b}"

    @property
    def cell(self) -> Cell:
        marks = tuple(row.mark(self.today) for row in self.rows if not row.is_no_mark)
        effort = f", effort {self.effort}" if self.effort else ""
        said = f"week of {self.name}{effort}"
        return Cell(label=self.name, head=self.effort, marks=marks, spoken=said)


@dataclass(frozen=True)
class ChildWeeks:
    """The last weeks of a child, oldest first, from the first in which something was assigned."""

    weeks: tuple[Week, ...]
    in_the_hall: InTheHall = NOBODY_LOOKED

    @property
    def lane(self) -> Lane:
        return Lane("Weeks", tuple(week.cell for week in self.weeks), centred=True)

    @property
    def ratings(self) -> list[int]:
        """The efforts that were rated, the hardest of each day, oldest first."""
        rated = (row for week in self.weeks for row in week.felt if row.effort is not None)
        days = hardest_of_each_day(rated, lambda row: row.felt_on, lambda row: row.effort or 0)
        return [row.effort or 0 for row in days]

    @property
    def usual_load(self) -> Usual | None:
        """What a week of this child usually costs, from those that are fully known."""
        return usual([week.load for week in self.weeks if week.load is not None])

    @property
    def usual_range(self) -> str:
        """ "420 to 620", where two of three usual weeks lie; "" while nothing is usual."""
        band = self._usual_band
        return f"{band[0]:.0f} to {band[1]:.0f}" if band else ""

    @property
    def _usual_band(self) -> tuple[float, float] | None:
        found = self.usual_load
        if found is None:
            return None
        return max(0.0, found.median - found.spread), found.median + found.spread

    @cached_property
    def smoothed(self) -> list[float | None]:
        """What weeks cost of late, by week; None for a week that is not fully known."""
        return smoothed([week.load for week in self.weeks])

    @cached_property
    def smoothed_newest_first(self) -> list[tuple[Week, float | None]]:
        return list(zip(self.weeks, self.smoothed, strict=True))[::-1]

    @property
    def loads(self) -> Columns | None:
        """The load of every week, drawn; None while none is known."""
        amounts = [(week.name, week.load) for week in self.weeks]
        return columns("Load by week", amounts, smoothed=self.smoothed, band=self._usual_band)

    @property
    def came_of_it(self) -> Adherence:
        return sum((week.came_of_it for week in self.weeks), NOTHING_YET)


def weeks_of(user: "User", child: Child, today: dt.date) -> ChildWeeks:
    this_monday = monday_of(today)
    first, last = this_monday - (WEEKS - 1) * A_WEEK, week_end(this_monday)
    sessions = AssignedSession.objects.visible_to(user).filter(
        Q(date__range=(first, last)) | Q(completion__done_on__range=(first, last)), child=child
    )
    logged = [f"completion__{name}" for name in ("state", "effort", "minutes", "absence")]
    told_of = sessions.with_could_not().values_list(
        "pk", "date", *logged, "could_not", "completion__done_on"
    )
    rows = [Row(*row) for row in told_of.order_by("date", "pk")]
    noted = Attendance.objects.visible_to(user).without_a_session()
    lately = noted.filter(child=child, session__date__range=(first, last))
    hall = in_the_hall(lately.order_by().values_list("presence", flat=True))
    days = [day for row in rows for day in (row.on, row.felt_on) if first <= day <= last]
    if not days:
        return ChildWeeks((), hall)
    begun = monday_of(min(days))
    mondays = [begun + n * A_WEEK for n in range((this_monday - begun) // A_WEEK + 1)]
    return ChildWeeks(tuple(_week(monday, rows, today) for monday in mondays), hall)


def _week(monday: dt.date, rows: Sequence[Row], today: dt.date) -> Week:
    days = days_of_week(monday)
    written_for = tuple(row for row in rows if row.on in days)
    return Week(monday, written_for, tuple(row for row in rows if row.felt_on in days), today)


@dataclass(frozen=True)
class Sides:
    """Left against right on one exercise."""

    exercise: str
    found: Balance

    @property
    def says(self) -> str:
        if not self.found.is_beyond_noise:
            return "within what readings differ anyway"
        return "a reason to watch" if self.found.is_worth_a_look else "sure, and small"


def sides_of(user: "User", child: Child, today: dt.date) -> list[Sides]:
    """Every exercise told a side at a time often enough, the largest difference first."""
    results = SlotResult.objects.visible_to(user).filter(
        completion__assigned_session__child=child,
        completion__done_on__gte=today - WEEKS * A_WEEK,
        amount_left__isnull=False,
        amount_right__isnull=False,
    )
    readings: dict[str, list[Reading]] = defaultdict(list)
    for name, log, left, right in results.order_by("completion__done_on", "pk").values_list(
        "assigned_slot__revision__name", "completion", "amount_left", "amount_right"
    ):
        readings[name].append(Reading(left or 0, right or 0, log))
    found = [
        Sides(name, compared) for name, told in readings.items() if (compared := balance(told))
    ]
    return sorted(found, key=lambda each: (-each.found.percent, each.exercise))
