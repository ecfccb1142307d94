"""The coach's week: per cohort what is planned, published and done, and who needs a look."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from django.db.models import Count, F, Q
from django.urls import reverse

from athletes.models import Child, Cohort, Enrolment
from library.models import Exercise
from library.shared.lanes import Lane, MarkKind
from program.common.devices import DAYS_AHEAD_AT_THE_VENUE
from program.common.lanes import Day, week_lane
from program.common.loaders import cohorts_of
from program.engine.weeks import A_WEEK, days_of_week, week_end
from program.engine.wording import plural
from program.models import (
    AssignedSession,
    Block,
    Break,
    CompletionState,
    PainReport,
    Place,
    Session,
    SessionNote,
)
from program.week.enrolled import Enrolled, enrolled_by_cohort
from program.week.held import Held, held_from
from program.week.notes import (
    MOST_NAMED,
    WeekNote,
    family_notes,
    names_in_words,
    pain_notes,
    waiting_notes,
)

if TYPE_CHECKING:
    from athletes.models import User


@dataclass(frozen=True)
class Logged:
    """What became of a published session: children by what they logged."""

    assigned: int = 0
    done: int = 0
    some: int = 0
    not_done: int = 0
    hurt: int = 0

    @property
    def logged(self) -> int:
        return self.done + self.some + self.not_done

    @property
    def missing(self) -> int:
        return self.assigned - self.logged

    @property
    def sentence(self) -> str:
        told = [(self.done, "done"), (self.some, "some of it"), (self.not_done, "not done")]
        counts = ", ".join(f"{count} {words}" for count, words in told if count)
        head = f"{self.logged} of {self.assigned} logged"
        return f"{head}: {counts}" if counts else head


@dataclass(frozen=True)
class WeekSession:
    session: Session
    exercises: int
    logged: Logged
    today: dt.date
    held: Sequence[str] = ()  # the names of those it was not sent to
    unpublished: int = 0  # exercises that are not published in the library

    @property
    def url(self) -> str:
        return reverse("program:build", args=[self.session.pk])

    @property
    def back_url(self) -> str:
        """Who logged it, and who did not."""
        return reverse("program:came_back_of", args=[self.session.pk])

    @property
    def held_in_words(self) -> str:
        return names_in_words(self.held)

    @property
    def decide_url(self) -> str:
        return reverse("program:who_gets_what", args=[self.session.pk]) + "?different"

    @property
    def is_due(self) -> bool:
        return self.session.date <= self.today

    @property
    def note(self) -> SessionNote | None:
        """What the coaches noted of the session as a whole."""
        return getattr(self.session, "group_note", None)

    @property
    def group_url(self) -> str:
        """Where the whole group is logged, a few days ahead so that a tablet can keep the page for
        the hall; "" for a session done at home or further away."""
        last = self.today + dt.timedelta(days=DAYS_AHEAD_AT_THE_VENUE)
        is_near = self.session.is_published and self.session.date <= last
        if self.session.place != Place.VENUE or not is_near:
            return ""
        return reverse("program:group_log", args=[self.session.pk])

    @property
    def state(self) -> str:
        if self.session.is_called_off:
            return "called off"
        if self.session.is_edited_since_publishing:
            return "edited since publishing"
        if self.session.is_published:
            return "published"
        return "planned" if self.exercises else "empty"

    @property
    def tag(self) -> str:
        if self.state == "published":
            return "good"
        return "plain" if self.state == "planned" and not self.is_late else "look"

    @property
    def is_late(self) -> bool:
        """Not out although its day is tomorrow, today or over."""
        is_soon = self.session.date <= self.today + dt.timedelta(days=1)
        return is_soon and not self.session.is_published

    @property
    def mark(self) -> MarkKind:
        if self.logged.hurt:
            return "hurt"
        if self.session.date >= self.today and not self.logged.logged:
            return "not_yet"
        if self.session.is_called_off and not self.logged.logged:
            return "not_yet"
        if not self.logged.logged:
            return "missed"
        return "done" if self.logged.done == self.logged.assigned else "half"

    def notes(self) -> list[WeekNote]:
        if self.session.is_called_off:
            return []
        name, day = self.session.name, f"{self.session.date:%A}"
        build = self.url
        found = []
        if self.session.is_edited_since_publishing:
            told = f"{name} was edited after it went out. Families still have the old one."
            found.append(WeekNote("look", "edited", told, build, "Publish again"))
        elif self.state == "empty":
            told = f"{name} on {day} has no exercise yet."
            found.append(WeekNote("look", "empty", told, build, "Write it"))
        elif self.is_late:
            told = f"{name} is for {day} and has not gone out."
            found.append(WeekNote("look", "not out", told, build, "Look and publish"))
        if self.held:
            told = f"{self.held_in_words} did not get {name} on {day}."
            found.append(WeekNote("look", "not sent", told, self.decide_url, "Decide"))
        if self.session.date < self.today and self.logged.missing:
            silent = plural(self.logged.missing, "child", "children")
            told = f"{silent} logged nothing for {name} on {day}."
            found.append(WeekNote("look", "missed", told, self.back_url, "See who"))
        return found


@dataclass(frozen=True)
class CohortWeek:
    """`pains` are the unanswered reports by child and place, `held_later` counts children who wait
    for a session after the week; what waits belongs to the running week alone."""

    cohort: Cohort
    enrolled: Sequence[Enrolled]
    blocks: Sequence[Block]
    sessions: Sequence[WeekSession]
    pains: Sequence[Sequence[PainReport]]
    held_later: int
    monday: dt.date
    today: dt.date
    is_keyed: bool = False  # whether its lane says what the marks mean
    is_away: bool = False  # every day of the week lies in a break that was entered

    @property
    def children(self) -> int:
        return len(self.enrolled)

    @property
    def is_now(self) -> bool:
        return self.monday <= self.today <= week_end(self.monday)

    @property
    def lane(self) -> Lane:
        days = [self._day(day) for day in days_of_week(self.monday)]
        return week_lane(str(self.cohort), days, self.today)

    def _day(self, day: dt.date) -> Day:
        those = [one for one in self.sessions if one.session.date == day]
        return Day(day, tuple(one.mark for one in those), those[0].url if those else "")

    @property
    def block(self) -> Block | None:
        return self.blocks[0] if self.blocks else None

    @property
    def block_week(self) -> int:
        return self.blocks[0].week_of(week_end(self.monday)) if self.blocks else 0

    @cached_property
    def notes(self) -> list[WeekNote]:
        by_session = [note for one in self.sessions for note in one.notes()]
        if not self.is_now:
            return [*by_session, *self._plan()]
        return [
            *pain_notes(self.pains),
            *waiting_notes(self.cohort, self.enrolled, self.held_later),
            *by_session,
            *self._plan(),
            *family_notes(self.cohort, self.enrolled),
        ]

    @property
    def told_of(self) -> list[Child]:
        """Those of whom it says what hurts."""
        return [reports[0].child for reports in self.pains[:MOST_NAMED]]

    @property
    def nothing_open(self) -> str:
        """What was looked at and found in order, where there is no note."""
        out = sum(one.session.is_published for one in self.sessions)
        if not self.sessions:
            return "There is no session in this week."
        if out < len(self.sessions):
            return f"{out} of {plural(len(self.sessions), 'session')} published."
        if out == 1:
            return "The only session of this week is published, and nobody waits for it."
        return f"All {out} sessions of this week are published, and nobody waits for one."

    def _plan(self) -> Iterable[WeekNote]:
        if self.sessions or self.is_away or week_end(self.monday) < self.today:
            return
        if self.block:
            url = reverse("program:session_new", args=[self.block.pk])
            on = max(self.monday, self.block.starts_on)
            told = "Nothing is planned for this week."
            yield WeekNote("note", "no session", told, f"{url}?on={on}", "Plan a session")
        else:
            url = f"{reverse('program:block_new')}?cohort={self.cohort.pk}"
            yield WeekNote("note", "no block", "No block covers this week.", url, "Make a block")


@dataclass(frozen=True)
class Week:
    """The page: Monday to Sunday, and each cohort the coach sees."""

    monday: dt.date
    today: dt.date
    cohorts: Sequence[CohortWeek]

    @property
    def sunday(self) -> dt.date:
        return week_end(self.monday)

    @property
    def is_now(self) -> bool:
        return self.monday <= self.today <= self.sunday

    @property
    def before(self) -> dt.date:
        return self.monday - A_WEEK

    @property
    def after(self) -> dt.date:
        return self.monday + A_WEEK

    @property
    def told_of(self) -> list[Child]:
        """Those of whom it says what hurt."""
        return [child for cohort in self.cohorts for child in cohort.told_of]

    @property
    def enrolled(self) -> Mapping[int, Sequence[Enrolled]]:
        """By the cohort's key."""
        return {each.cohort.pk: each.enrolled for each in self.cohorts}

    @property
    def to_look_at(self) -> int:
        return sum(len(cohort.notes) for cohort in self.cohorts)


def week_of(user: "User", monday: dt.date, today: dt.date) -> Week:
    """Everything the page shows, in seven queries however many cohorts and children there are."""
    cohorts = cohorts_of(user)
    sunday = week_end(monday)
    day = min(max(today, monday), sunday)
    enrolled = enrolled_by_cohort(user, cohorts, day, today)
    held = held_from(user, monday, sunday, today)
    sessions = _sessions_by_cohort(user, monday, today, held)
    blocks = _blocks_by_cohort(user, monday, sunday)
    pains = _pains_by_cohort(user, cohorts, today) if monday <= today <= sunday else {}
    away = Break.objects.visible_to(user).cohorts_away(cohorts, monday, sunday)
    keyed = next((cohort for cohort in cohorts if cohort.pk in sessions), None)
    return Week(
        monday,
        today,
        [
            CohortWeek(
                cohort=cohort,
                enrolled=enrolled.get(cohort.pk, []),
                blocks=blocks.get(cohort.pk, []),
                sessions=sessions.get(cohort.pk, []),
                pains=pains.get(cohort.pk, []),
                held_later=len(held.later_by_cohort.get(cohort.pk, ())),
                monday=monday,
                today=today,
                is_keyed=cohort == keyed,
                is_away=cohort.pk in away,
            )
            for cohort in cohorts
        ],
    )


def _sessions_by_cohort(
    user: "User", monday: dt.date, today: dt.date, held: Held
) -> dict[int, list[WeekSession]]:
    sessions = (
        Session.objects.visible_to(user).in_week(monday).select_related("block", "group_note")
    )
    # In words, because counting drops the model's own order.
    unpublished = ~Q(parts__slots__exercise__status=Exercise.Status.PUBLISHED)
    rows: list[Any] = list(
        sessions.annotate(
            exercises=Count("parts__slots"),
            unpublished=Count("parts__slots", filter=unpublished),
        ).order_by("date", "id")
    )
    logged = _logged_by_session(user, rows)
    found: dict[int, list[WeekSession]] = {}
    for session in rows:
        one = WeekSession(
            session,
            session.exercises,
            logged.get(session.pk, Logged()),
            today,
            held.by_session.get(session.pk, ()),
            session.unpublished,
        )
        found.setdefault(session.block.cohort_id, []).append(one)
    return found


def _logged_by_session(user: "User", sessions: Sequence[Session]) -> Mapping[int, Logged]:
    states = {
        field: Count("pk", distinct=True, filter=Q(completion__state=state))
        for field, state in (
            ("done", CompletionState.DONE),
            ("some", CompletionState.PARTLY),
            ("not_done", CompletionState.NOT_DONE),
        )
    }
    rows = (
        AssignedSession.objects.visible_to(user)
        .taking_place()
        .filter(session__in=sessions)
        .order_by()
        .values("session")
        .annotate(
            assigned=Count("pk", distinct=True),
            hurt=Count("pain_reports", distinct=True),
            **states,
        )
    )
    return {row.pop("session"): Logged(**row) for row in _dicts(rows)}


def _dicts(rows: Iterable[Any]) -> Iterable[dict[str, int]]:
    return (dict(row) for row in rows)


def _blocks_by_cohort(user: "User", monday: dt.date, sunday: dt.date) -> dict[int, list[Block]]:
    found: dict[int, list[Block]] = {}
    for block in Block.objects.visible_to(user).filter(starts_on__lte=sunday, ends_on__gte=monday):
        found.setdefault(block.cohort_id, []).append(block)
    return found


def _pains_by_cohort(
    user: "User", cohorts: list[Cohort], today: dt.date
) -> dict[int, list[list[PainReport]]]:
    """Unanswered reports of the children in each cohort today, by child and place, the newest
    first."""
    enrolled = Enrolment.objects.filter(cohort__in=cohorts).in_force(today)
    reports: Iterable[Any] = (
        PainReport.objects.visible_to(user)
        .unanswered()
        .filter(child__enrolments__in=enrolled)
        .annotate(cohort=F("child__enrolments__cohort"))
        .select_related("child")
    )
    found: dict[int, dict[tuple[Any, ...], list[PainReport]]] = {}
    for each in reports:
        place = each.child_id, each.region, each.symptom, each.side
        found.setdefault(each.cohort, {}).setdefault(place, []).append(each)
    return {cohort: list(places.values()) for cohort, places in found.items()}
