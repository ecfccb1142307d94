"""What came back from the families, for a coach: what hurts, what was logged, what was not."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import TYPE_CHECKING, Any

from django.contrib.humanize.templatetags.humanize import ordinal
from django.db.models import Count, OuterRef, Prefetch, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.utils.text import capfirst

from athletes.models import Child
from library.shared.dates import short_weekday_and_date
from library.shared.lanes import Lane
from program.common.lanes import Evidence, evidence_lane
from program.common.session_plan import dose_of
from program.common.wording import dose_in_words, effort_in_words
from program.engine.dose.dose import Measure
from program.models import (
    AssignedSession,
    AssignedSessionQuerySet,
    AssignedSlot,
    Completion,
    CompletionState,
    PainReport,
    Session,
    SlotResult,
)

if TYPE_CHECKING:
    from athletes.models import User

QUIET_DAYS = 7


@dataclass(frozen=True)
class Pain:
    """One report as a finding: where and how much, then what stands behind it."""

    report: PainReport

    @property
    def child(self) -> Child:
        return self.report.child

    @property
    def finding(self) -> str:
        """ "Left knee, 4 of 10, on Step-up" """
        return f"{capfirst(str(self.report))}{self.on}"

    @property
    def on(self) -> str:
        """ ", on Step-up"; "" where nobody said on which exercise."""
        revision = self.report.revision
        return f", on {revision.name}" if revision else ""

    @property
    def how_often(self) -> str:
        about = f"the {self.report.get_region_display()}" if self.report.region else "this"
        return f"{ordinal(self.report.nth)} report about {about} in twelve weeks."


@dataclass(frozen=True)
class SlotLine:
    """One exercise of a session: what was asked and what came of it, "" where nobody said."""

    slot: AssignedSlot
    asked: str
    did: str


@dataclass(frozen=True)
class Return:
    """One assigned session and what came back of it."""

    session: AssignedSession
    today: dt.date
    reports: Sequence[PainReport] | None = None  # of the child, where they are at hand already

    @property
    def child(self) -> Child:
        return self.session.child

    @cached_property
    def log(self) -> Completion | None:
        return getattr(self.session, "completion", None)

    @property
    def state(self) -> str:
        if self.log:
            return str(self.log)
        if self.session.is_called_off:
            return "called off"
        return "not logged" if self.session.date < self.today else "to come"

    @property
    def tint(self) -> str:
        if self.session.is_called_off:
            return "plain"
        if self.log is None:
            return "look" if self.session.date < self.today else "plain"
        return {
            CompletionState.DONE: "good",
            CompletionState.PARTLY: "note",
            CompletionState.NOT_DONE: "look",
        }[CompletionState(self.log.state)]

    @property
    def facts(self) -> str:
        """Effort, enjoyment and minutes, as far as they were told, and the day where it was another
        one."""
        log = self.log
        if log is None:
            return ""
        told = [
            effort_in_words(log.effort) if log.effort is not None else "",
            f"enjoyment {log.enjoyment} of 5" if log.enjoyment else "",
            f"{log.minutes} min" if log.minutes else "",
            f"done on {short_weekday_and_date(log.other_day)}" if log.other_day else "",
        ]
        return capfirst(", ".join(filter(None, told)))

    @cached_property
    def pains(self) -> list[Pain]:
        if self.reports is None:
            return [Pain(report) for report in self.session.pain_reports.all()]
        mine = (each for each in self.reports if each.assigned_session_id == self.session.pk)
        return [Pain(report) for report in mine]

    @cached_property
    def lines(self) -> list[SlotLine]:
        results = self.log.results.all() if self.log else ()
        by_slot = {result.assigned_slot_id: result for result in results}
        return [_slot_line(slot, by_slot.get(slot.pk)) for slot in self.session.slots.all()]

    @property
    def assigned(self) -> int:
        """How many exercises were assigned; counted by `of_child`."""
        count: int = getattr(self.session, "assigned_count", 0)
        return count

    @property
    def told(self) -> int:
        """How many of them were spoken of one by one; counted by `of_child`."""
        count: int = getattr(self.session, "told_count", 0)
        return count


def _slot_line(slot: AssignedSlot, result: SlotResult | None) -> SlotLine:
    asked = f"{slot.rounds} × {dose_in_words(dose_of(slot.revision, slot.prescription))}"
    return SlotLine(slot, asked, _did(slot, result) if result else "")


def _did(slot: AssignedSlot, result: SlotResult) -> str:
    measure = Measure(slot.revision.measure)
    amounts = [
        f"{measure.written(amount)}{side}"
        for amount, side in (
            (result.amount, ""),
            (result.amount_left, " left"),
            (result.amount_right, " right"),
        )
        if amount is not None
    ]
    easier = slot.easier_revision.name if result.took_easier and slot.easier_revision else ""
    told = [result.get_state_display(), *amounts, f"took the easier {easier}" if easier else ""]
    return ", ".join(filter(None, told))


@dataclass(frozen=True)
class Quiet:
    """A child with sessions behind it that nobody has logged."""

    child: Child
    sessions: tuple[AssignedSession, ...]


@dataclass(frozen=True)
class Returns:
    """What came back to a coach: of all sessions, or of the planned one."""

    user: "User"
    today: dt.date
    planned: Session | None = None

    @property
    def logged(self) -> AssignedSessionQuerySet:
        """The logged sessions, what was written or rewritten last first."""
        newest = Coalesce("completion__edited_at", "completion__logged_at").desc()
        logged = self._sessions.filter(completion__isnull=False)
        return _with_what_came_back(logged).order_by(newest, "-pk")

    @cached_property
    def quiet(self) -> list[Quiet]:
        """Who has sessions that nobody has logged: of the seven days before today, or the planned
        one from its day on."""
        silent = (
            self._due.filter(completion__isnull=True)
            .select_related("child")
            .order_by("child__given_name", "child__family_initial", "child", "date")
        )
        return [
            Quiet(child, tuple(sessions))
            for child, sessions in groupby(silent, key=lambda session: session.child)
        ]

    @property
    def _due(self) -> AssignedSessionQuerySet:
        due = self._sessions.taking_place()
        if self.planned:
            return due.filter(date__lte=self.today)
        since = self.today - dt.timedelta(days=QUIET_DAYS)
        return due.filter(date__gte=since, date__lt=self.today)

    @property
    def _sessions(self) -> AssignedSessionQuerySet:
        sessions: AssignedSessionQuerySet = AssignedSession.objects.remembered_by(self.user)
        readable = sessions.with_may_write(self.user)
        return readable.filter(session=self.planned) if self.planned else readable


def of_child(user: "User", child: Child) -> AssignedSessionQuerySet:
    """A child's sessions with their logs and how many exercises they had, the newest first."""
    here = OuterRef("pk")
    slots = AssignedSlot.objects.filter(assigned_session=here)
    results = SlotResult.objects.filter(completion__assigned_session=here)
    sessions: AssignedSessionQuerySet = (
        _with_log(AssignedSession.objects.remembered_by(user).filter(child=child))
        .with_may_write(user)
        .annotate(assigned_count=_count(slots), told_count=_count(results))
        .order_by("-date", "-pk")
    )
    return sessions


def _count(rows: QuerySet[Any]) -> Coalesce:
    counted = rows.order_by().values(one=Value(1)).annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(counted), 0)


def _with_log(sessions: AssignedSessionQuerySet) -> AssignedSessionQuerySet:
    return sessions.select_related(
        "child", "session__block__cohort", "completion__logged_by", "completion__edited_by"
    )


def _with_what_came_back(sessions: AssignedSessionQuerySet) -> AssignedSessionQuerySet:
    return _with_log(sessions).prefetch_related(
        Prefetch("pain_reports", queryset=PainReport.objects.for_review())
    )


def effort_lane(returns: Iterable[Return]) -> Lane | None:
    """The efforts of these sessions by the days on which they were done, the oldest first; None
    where none was told."""
    logs = (each.log for each in returns if each.log)
    rated = [
        (each.done_on, each.effort) for each in logs if each.done_on and each.effort is not None
    ]
    seen = [Evidence(str(effort), short_weekday_and_date(on)) for on, effort in sorted(rated)]
    return evidence_lane("Effort", seen[-6:]) if seen else None
