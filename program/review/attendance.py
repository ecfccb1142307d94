"""Who does what is assigned: per cohort and child, against the sessions that count. One query."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from athletes.models import Child, Cohort
from program.engine.attendance import NOTHING_YET, Adherence, CouldNot, Due, adherence, told
from program.engine.weeks import A_WEEK
from program.models import AssignedSession

if TYPE_CHECKING:
    from athletes.models import User

WEEKS: Final = 6


@dataclass(frozen=True)
class ChildAttendance:
    child: Child
    came_of_it: Adherence


@dataclass(frozen=True)
class CohortAttendance:
    """A cohort over the last weeks; children in the order of their names, never of their shares."""

    cohort: Cohort
    children: tuple[ChildAttendance, ...]

    @property
    def told_of(self) -> list[Child]:
        """Those of whom it says that they were sick, or that their sessions waited."""
        return [
            each.child
            for each in self.children
            if each.came_of_it.sick or each.came_of_it.held_back
        ]

    @property
    def came_of_it(self) -> Adherence:
        return sum((each.came_of_it for each in self.children), NOTHING_YET)


def attendance_of(user: "User", today: dt.date) -> list[CohortAttendance]:
    """The last six weeks of a coach's cohorts. Sessions count for the cohort they were written
    for, so a child that has left it is still among those who did them, as long as its coach may
    look back."""
    rows: Iterable[Any] = (
        AssignedSession.objects.remembered_by(user)
        .filter(
            session__block__cohort__in=Cohort.objects.visible_to(user),
            date__range=(today - WEEKS * A_WEEK, today),
        )
        .with_could_not()
        .select_related("child", "session__block__cohort", "completion")
        .order_by("child__given_name", "child__family_initial", "child", "date")
        .defer("note", "fingerprint", "completion__note")
    )
    found: dict[Cohort, dict[Child, list[Due]]] = defaultdict(lambda: defaultdict(list))
    for row in rows:
        log = getattr(row, "completion", None)
        said = told(log.state, log.absence) if log else ""
        due = Due(row.pk, row.date, said, CouldNot(row.could_not))
        found[row.session.block.cohort][row.child].append(due)
    return [
        CohortAttendance(cohort, _children(found[cohort], today))
        for cohort in sorted(found, key=lambda each: (each.youngest, each.name))
    ]


def _children(due: dict[Child, list[Due]], today: dt.date) -> tuple[ChildAttendance, ...]:
    return tuple(ChildAttendance(child, adherence(each, today)) for child, each in due.items())
