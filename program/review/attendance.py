"""Who does what is assigned: per cohort and child, against the sessions that count; and who was not
sent a session that was published, and was in the hall all the same. Four queries."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from athletes.models import Child, Cohort
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
from program.engine.weeks import A_WEEK
from program.models import AssignedSession, Attendance, Session

if TYPE_CHECKING:
    from athletes.models import User

WEEKS: Final = 6


@dataclass(frozen=True)
class ChildAttendance:
    child: Child
    came_of_it: Adherence
    not_sent: int = 0
    in_the_hall: InTheHall = NOBODY_LOOKED


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
            if each.came_of_it.sick or each.came_of_it.held_back or each.in_the_hall.sick
        ]

    @property
    def came_of_it(self) -> Adherence:
        return sum((each.came_of_it for each in self.children), NOTHING_YET)


def attendance_of(user: "User", today: dt.date) -> list[CohortAttendance]:
    """The last six weeks of a coach's cohorts. Sessions count for the cohort they were written
    for, so a child that has left it is still among those who did them, as long as its coach may
    look back."""
    days = today - WEEKS * A_WEEK, today
    rows: Iterable[Any] = (
        AssignedSession.objects.remembered_by(user)
        .filter(session__block__cohort__in=Cohort.objects.visible_to(user), date__range=days)
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
    not_sent, noted = _not_sent(user, *days), _noted(user, *days)
    for cohort, child in [*not_sent, *noted]:
        found[cohort].setdefault(child, [])  # also who got nothing at all
    return [
        CohortAttendance(cohort, _children(cohort, found[cohort], not_sent, noted, today))
        for cohort in sorted(found, key=lambda each: (each.youngest, each.name))
    ]


def _not_sent(user: "User", first: dt.date, last: dt.date) -> Counter[tuple[Cohort, Child]]:
    """How many published sessions each child of a cohort was not sent."""
    sessions: Any = Session.objects.visible_to(user).filter(date__range=(first, last))
    rows = sessions.held_from(Child.objects.visible_to(user)).select_related("block__cohort")
    held = [(each.block.cohort, each.held) for each in rows]
    children = Child.objects.visible_to(user).in_bulk({child for _, child in held})
    return Counter((cohort, children[child]) for cohort, child in held)


def _noted(user: "User", first: dt.date, last: dt.date) -> Mapping[tuple[Cohort, Child], list[str]]:
    """What the hall's log says of each child without a session."""
    notes = Attendance.objects.remembered_by(user).without_a_session()
    own = notes.filter(
        session__block__cohort__in=Cohort.objects.visible_to(user),
        session__date__range=(first, last),
    )
    found: dict[tuple[Cohort, Child], list[str]] = defaultdict(list)
    for each in own.select_related("child", "session__block__cohort"):
        found[each.session.block.cohort, each.child].append(each.presence)
    return found


def _children(
    cohort: Cohort,
    due: dict[Child, list[Due]],
    not_sent: Counter[tuple[Cohort, Child]],
    noted: Mapping[tuple[Cohort, Child], list[str]],
    today: dt.date,
) -> tuple[ChildAttendance, ...]:
    in_order = sorted(due, key=lambda each: (each.given_name, each.family_initial, each.pk))
    return tuple(
        ChildAttendance(
            child,
            adherence(due[child], today),
            not_sent[cohort, child],
            in_the_hall(noted.get((cohort, child), ())),
        )
        for child in in_order
    )
