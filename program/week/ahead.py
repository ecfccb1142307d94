"""The week ahead: each cohort's sessions as far as they are, and which children need a thought
before it begins."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

from django.urls import reverse

from athletes.family_state import FamilyState
from athletes.models import Child
from program.checks.naming import with_names
from program.checks.session_checks import KeptResult, results_for_sessions
from program.common.edit_conflicts import mark_of
from program.engine.weeks import A_WEEK, monday_of
from program.engine.wording import listed, plural
from program.models import Session
from program.week.enrolled import Enrolled
from program.week.page import CohortWeek, Week, WeekSession, week_of

if TYPE_CHECKING:
    from athletes.models import User

BEFORE_THE_WEEK: Final = dt.timedelta(days=3)
"""From Friday on a coach thinks of the next one. A house rule."""

STOPPED: Final = "stopped by a check"
IN_WORDS: Final = {FamilyState.INVITED: "invited", FamilyState.UNDELIVERED: "mail not delivered"}


def usual_week(today: dt.date) -> dt.date:
    """Its Monday: from Friday on the next week, before that the running one."""
    return monday_of(today + BEFORE_THE_WEEK)


@dataclass(frozen=True)
class SessionAhead:
    """A session of the week. It `can_go_out` once it can be published and families have not got it
    as it stands, and `is_ready` where no check asks for a written reason before; `stops` do."""

    row: WeekSession
    stops: Sequence[KeptResult] = ()

    @property
    def session(self) -> Session:
        return self.row.session

    @property
    def is_over(self) -> bool:
        return self.session.date < self.row.today

    @property
    def is_out(self) -> bool:
        if self.session.is_called_off:
            return False
        return self.session.is_published and not self.session.is_edited_since_publishing

    @property
    def lacks(self) -> str:
        """What has to be done before it can be published, "" for nothing."""
        if not self.row.exercises:
            return "no exercise yet"
        return "an exercise is not published" if self.row.unpublished else ""

    @property
    def can_go_out(self) -> bool:
        return not (self.session.is_called_off or self.is_over or self.is_out or self.lacks)

    @property
    def is_ready(self) -> bool:
        return self.can_go_out and not self.stops

    @property
    def state(self) -> str:
        if self.session.is_called_off:
            return "called off"
        if self.is_out:
            return "published"
        if self.is_over:
            return "not published, its day is over"
        if self.lacks:
            return self.lacks
        if self.stops:
            return STOPPED
        return "edited since publishing" if self.session.is_published else "ready"

    @property
    def tag(self) -> str:
        if self.is_out:
            return "good"
        if self.can_go_out:
            return "stop" if self.stops else "note"
        return "look"


@dataclass(frozen=True)
class CohortAhead:
    """`stops`, by session, as `stops_of` has them."""

    week: CohortWeek
    stops: Mapping[int, Sequence[KeptResult]]

    @cached_property
    def sessions(self) -> list[SessionAhead]:
        return [SessionAhead(row, self.stops.get(row.session.pk, ())) for row in self.week.sessions]

    @property
    def no_session(self) -> str:
        """Why there is none."""
        if self.week.is_away:
            return "Away all week."
        missing = "nothing is planned yet" if self.week.block else "no block covers this week"
        return f"No session: {missing}."

    @property
    def plan_url(self) -> str:
        """Where to plan one; "" where nobody is to come."""
        if self.week.is_away:
            return ""
        if block := self.week.block:
            on = max(self.week.monday, block.starts_on)
            return f"{reverse('program:session_new', args=[block.pk])}?on={on}"
        return f"{reverse('program:block_new')}?cohort={self.week.cohort.pk}"

    @property
    def plan_action(self) -> str:
        return "Plan a session" if self.week.block else "Make a block"

    @property
    def hurt(self) -> list[Child]:
        return [each.child for each in self.week.enrolled if each.is_hurt]

    @property
    def asking(self) -> list[Child]:
        return [each.child for each in self.week.enrolled if each.asked]

    @property
    def not_here(self) -> str:
        """Whose family has not signed in: "Ada T. (invited) and Bo T."."""
        missing = (each for each in self.week.enrolled if each.family is not FamilyState.HERE)
        names = [_with_family(each) for each in missing]
        return listed(names) if names else ""


def _with_family(each: Enrolled) -> str:
    words = IN_WORDS.get(each.family)
    return f"{each.child} ({words})" if words else str(each.child)


@dataclass(frozen=True)
class WeekAhead:
    week: Week
    stops: Mapping[int, Sequence[KeptResult]]

    @property
    def monday(self) -> dt.date:
        return self.week.monday

    @cached_property
    def cohorts(self) -> list[CohortAhead]:
        return [CohortAhead(each, self.stops) for each in self.week.cohorts]

    @cached_property
    def sessions(self) -> list[SessionAhead]:
        return [one for cohort in self.cohorts for one in cohort.sessions]

    @cached_property
    def ready(self) -> list[Session]:
        return [each.session for each in self.sessions if each.is_ready]

    @property
    def marks(self) -> dict[str, Session]:
        """Those that are ready by what was seen of each; another mark after any edit, move or
        publishing."""
        return {mark_of([session]): session for session in self.ready}

    @property
    def without(self) -> int:
        """How many cohorts have no session, though they are not away."""
        return sum(not each.sessions and not each.week.is_away for each in self.cohorts)

    @property
    def headline(self) -> str:
        """ "3 of 6 sessions published, 2 ready to publish, 1 stopped by a check; 1 cohort has no
        session." """
        if not self.sessions and not self.without:
            return "Everybody is away this week."
        if not self.sessions:
            return "No session is written for this week yet."
        out = sum(each.is_out for each in self.sessions)
        published = f"{out} of {plural(len(self.sessions), 'session')} published"
        ready = f", {len(self.ready)} ready to publish" if self.ready else ""
        stopped = sum(bool(each.stops) for each in self.sessions)
        stops = f", {stopped} {STOPPED}" if stopped else ""
        without = plural(self.without, "cohort has", "cohorts have")
        return f"{published}{ready}{stops}{f'; {without} no session' if self.without else ''}."

    @property
    def told_of(self) -> Sequence[Child]:
        return [child for cohort in self.cohorts for child in cohort.hurt]

    @property
    def before(self) -> dt.date:
        return self.monday - A_WEEK

    @property
    def after(self) -> dt.date:
        return self.monday + A_WEEK


def week_ahead_of(user: "User", monday: dt.date, today: dt.date) -> WeekAhead:
    week = week_of(user, monday, today)
    rows = [SessionAhead(row) for cohort in week.cohorts for row in cohort.sessions]
    return WeekAhead(week, stops_of([row.session for row in rows if row.can_go_out], user))


def stops_of(sessions: Sequence[Session], user: "User") -> dict[int, list[KeptResult]]:
    """By session why a check stops it and nobody has written a reason, as far as one does, naming
    whom the user may see."""
    written = Session.objects.with_plan().filter(pk__in=[session.pk for session in sessions])
    found = [
        (session, result)
        for session, results in results_for_sessions(list(written)).items()
        for result in results
        if result.is_open_stop
    ]
    stops: dict[int, list[KeptResult]] = {}
    named = with_names([result for _, result in found], user)
    for (session, _), result in zip(found, named, strict=True):
        stops.setdefault(session, []).append(result)
    return stops
