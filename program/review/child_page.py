"""Everything a coach knows of one child, on one page and in a fixed number of queries."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

from django.db.models import Exists, OuterRef

from athletes.measurements import Growth, growth_of
from athletes.models import Child, Restriction, RestrictionsOn
from library.shared.lanes import Lane
from program.common.charts import Curve, curve
from program.common.library_snapshot import library_snapshot
from program.common.sport import ChildSport, sport_of_child
from program.engine.ratings import alike_at_the_end, never_varies
from program.engine.way_back import Thresholds
from program.models import (
    Block,
    PainReport,
    Question,
    Resolution,
    SafetyRules,
    StandingDecision,
    WayBackStep,
)
from program.review.answers import Press
from program.review.child_load import ChildWeeks, Sides, sides_of, weeks_of
from program.review.children import Who
from program.review.finding import Finding
from program.review.findings.effort import always
from program.review.findings.pain import pain_findings
from program.review.findings.restrictions import early_restrictions
from program.review.findings.way_back import OnTheWay
from program.review.logged_sessions import Return, effort_lane, of_child
from program.review.pathway_history import ChildPathways, pathways_of
from program.review.place_courses import DoneSession, PlaceCourse, place_courses

if TYPE_CHECKING:
    from athletes.models import User

A_PAGE: Final = 12
LAST_PAGE: Final = 1000
LISTED: Final = 12
"""How many questions and answers are listed, the newest first."""


@dataclass(frozen=True)
class ChildPage:
    """Newest first wherever something is listed. `page` counts the pages of sessions from 1."""

    child: Child
    today: dt.date
    page: int
    has_older: bool
    returns: tuple[Return, ...]
    reports: tuple[PainReport, ...]
    weeks: ChildWeeks
    sides: tuple[Sides, ...]
    pathways: ChildPathways
    restrictions: tuple[Restriction, ...]
    steps: tuple[WayBackStep, ...]
    thresholds: Thresholds
    growth: Growth
    sport: ChildSport
    questions: tuple[Question, ...]
    decisions: tuple[StandingDecision, ...]
    answers: tuple[Press, ...]

    @property
    def blocks(self) -> list[Block]:
        """Those of the listed sessions that are the coach's to open, the newest first."""
        sessions: list[Any] = [each.session for each in self.returns]
        own = (each.session.block for each in sessions if each.is_in_own_block)
        return list(dict.fromkeys(own))

    @property
    def age(self) -> int:
        return self.child.age_on(self.today)

    @property
    def newer(self) -> int:
        return self.page - 1

    @property
    def older(self) -> int:
        return self.page + 1 if self.has_older else 0

    @property
    def effort(self) -> Lane | None:
        return effort_lane(self.returns)

    @property
    def always(self) -> str:
        """What ratings that never vary say; "" where they do, or are few."""
        ratings = self.weeks.ratings
        if not never_varies(ratings):
            return ""
        return always(ratings[-1], alike_at_the_end(ratings))

    @cached_property
    def asked(self) -> list[Finding]:
        """What hurts and nobody has seen yet, one finding for each place; the next step of each way
        back, early or not; and what is spared."""
        who = {self.child.pk: Who(self.child)}
        return [
            *self._hurts(who),
            *self._on_the_way.findings(who, early=False),
            *self._on_the_way.findings(who, early=True),
            *early_restrictions(who[self.child.pk], self._restricted, self.today),
        ]

    def _hurts(self, who: Mapping[int, Who]) -> list[Finding]:
        unanswered = [each for each in self.reports if each.is_unanswered]
        return pain_findings(who, unanswered, library_snapshot().fit) if unanswered else []

    @property
    def _restricted(self) -> list[Restriction]:
        return [each for each in self.restrictions if each.lifted_on is None]

    @property
    def spared(self) -> RestrictionsOn:
        return RestrictionsOn(self._restricted, self.today)

    @property
    def grows_fast(self) -> bool:
        return self.child.grows_fast_on(self.today)

    @property
    def _on_the_way(self) -> OnTheWay:
        return OnTheWay(
            self.today,
            self.thresholds,
            [each for each in self.steps if each.ended_on is None],
            [each for each in self.reports if each.is_unanswered],
            self._restricted,
            {self.child.pk: [each.on for each in self._done if not each.hurt]},
        )

    @cached_property
    def _done(self) -> list[DoneSession]:
        """The sessions done in the weeks that are shown."""
        sore = {each.assigned_session_id for each in self.reports}
        rows = (row for week in self.weeks.weeks for row in week.rows)
        return [DoneSession(row.felt_on, row.pk in sore) for row in rows if row.is_done]

    @cached_property
    def places(self) -> list[PlaceCourse]:
        return place_courses(self.reports, self.restrictions, self.steps, self._done, self.today)

    @property
    def heights(self) -> Curve | None:
        moments = [
            (f"{each.on.day} {each.on:%b %Y}", float(each.on.toordinal()), float(each.height))
            for each in self.growth.measurements
        ]
        return curve("Heights", moments, unit="cm")


def child_page(user: "User", child: Child, today: dt.date, page: int) -> ChildPage:
    """The child is visible to the person; `page` is made one there can be."""
    page = min(max(page, 1), LAST_PAGE)
    first = (page - 1) * A_PAGE
    own = Block.objects.visible_to(user).filter(pk=OuterRef("session__block"))
    asked = of_child(user, child).annotate(is_in_own_block=Exists(own))
    # One more than are shown says whether there are older ones; a Paginator would count them all,
    # in one query more.
    sessions = list(asked[first : first + A_PAGE + 1])
    reports = tuple(PainReport.objects.visible_to(user).filter(child=child).for_review())
    restrictions = Restriction.objects.visible_to(user).filter(child=child).with_people()
    steps = WayBackStep.objects.visible_to(user).filter(child=child).select_related("set_by")
    questions = Question.objects.visible_to(user).filter(child=child).to_be_read_by(user)
    decisions = StandingDecision.objects.visible_to(user)
    answers = Resolution.objects.visible_to(user).filter(child=child).with_names()
    return ChildPage(
        child=child,
        today=today,
        page=page,
        has_older=len(sessions) > A_PAGE,
        returns=tuple(Return(each, today, reports) for each in sessions[:A_PAGE]),
        reports=reports,
        weeks=weeks_of(user, child, today),
        sides=tuple(sides_of(user, child, today)),
        pathways=pathways_of(user, child),
        restrictions=tuple(restrictions.order_by("-until", "-pk")),
        steps=tuple(steps.with_last_pain().order_by("-since", "-pk")),
        thresholds=SafetyRules.objects.current().thresholds,
        growth=growth_of(user, child),
        sport=sport_of_child(child, today),
        questions=tuple(questions[:LISTED]),
        decisions=tuple(decisions.filter(child=child).ahead(today).with_names()),
        answers=tuple(Press((each,)) for each in answers[:LISTED]),
    )
