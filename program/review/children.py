"""The children of a coach's queue, each with its cohorts, heights and open questions: one query."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import OuterRef, Q
from django.db.models.functions import JSONObject
from django.utils import timezone

from athletes.family_state import FamilyState, family_state
from athletes.growth import Measurement
from athletes.models import (
    Child,
    Cohort,
    ConsentPurpose,
    Enrolment,
    EnrolmentQuerySet,
    GrowthMeasurement,
    Role,
    User,
)
from athletes.models.consents import FamilyAnswers, answers_in_json
from library.shared.uploads import Kind
from library.shared.uploads.keeping import kind_of
from program.common.sport import here_in_json, here_of, sport_in_json, sport_of
from program.engine.sport import NOTHING_SAID, Sport
from program.engine.weeks import monday_of, week_end
from program.models import Question


class Asked(NamedTuple):
    """A question nobody has answered yet; `about` is the exercise or the session, or "",
    `exercise` the exercise or "", and `upload` the name of what came with it."""

    pk: int
    text: str
    at: dt.datetime
    by: str
    about: str
    public_id: str
    exercise: str = ""
    upload: str = ""

    @property
    def upload_kind(self) -> Kind | None:
        return kind_of(self.upload)


class Colleague(NamedTuple):
    """Another coach of a child."""

    pk: int
    name: str


@dataclass(frozen=True)
class Who:
    """A child as it stands in the queue: the `cohorts` it is in today, its `heights` in the order
    of their days where the family agrees that it is measured, what was `asked` about it, and the
    other coaches who look after it; `family`, whether somebody of it is here; its `sport` outside
    the program, and by day of this week the seconds of its sessions `here`."""

    child: Child
    cohorts: tuple[Cohort, ...] = ()
    family: FamilyState = FamilyState.HERE
    answers: FamilyAnswers = field(default_factory=FamilyAnswers)
    heights: tuple[Measurement, ...] = ()
    asked: tuple[Asked, ...] = ()
    colleagues: tuple[Colleague, ...] = ()
    sport: Sport = NOTHING_SAID
    here: Mapping[dt.date, int] = field(default_factory=dict)

    @property
    def cohort_names(self) -> str:
        return ", ".join(map(str, self.cohorts))


def cohorts_and_children(user: User, today: dt.date) -> list[Who]:
    """The children enrolled today in one's cohorts, in the order of names: one query."""
    mine = Enrolment.objects.filter(cohort__in=Cohort.objects.visible_to(user))
    return _whos(user, mine, today)


def who_is(user: User, child: Child, today: dt.date) -> Who:
    """One child, who is visible to the person, as it stands in the queue."""
    mine = Enrolment.objects.filter(child=child, cohort__in=Cohort.objects.visible_to(user))
    return next(iter(_whos(user, mine, today)), Who(child))


_UNANSWERED: Final = (
    Question.objects.unanswered()
    .filter(child=OuterRef("child"))
    .order_by("asked_at")
    .values(
        json=JSONObject(
            pk="pk",
            text="text",
            at="asked_at",
            by="asked_by__name",
            session="assigned_session__name",
            exercise="exercise__current__name",
            public_id="public_id",
            upload="upload",
        )
    )
)


def _named(rows: Iterable[Mapping[str, Any]]) -> list[Colleague]:
    return [Colleague(row["pk"], row["name"]) for row in rows]


def _asked(row: Mapping[str, Any], *, shows_uploads: bool) -> Asked:
    at = dt.datetime.fromisoformat(row["at"])
    about = row["exercise"] or row["session"] or ""
    by = row["by"] or "somebody who has left"
    exercise = row["exercise"] or ""
    upload = row["upload"] if shows_uploads else ""
    return Asked(row["pk"], row["text"], at, by, about, row["public_id"], exercise, upload)


def _colleagues(user: User) -> ArraySubquery:
    """The active coaches of the enrolment's cohort and the head coaches, but for oneself."""
    coaching = Cohort.coaches.through.objects.filter(cohort=OuterRef(OuterRef("cohort")))
    coaches = User.objects.filter(
        Q(role=Role.HEAD_COACH) | Q(role=Role.COACH, pk__in=coaching.values("user")),
        is_active=True,
    ).exclude(pk=user.pk)
    return ArraySubquery(
        coaches.order_by("name", "pk").values(json=JSONObject(pk="pk", name="name"))
    )


def _whos(user: User, enrolments: EnrolmentQuerySet, today: dt.date) -> list[Who]:
    heights, monday = GrowthMeasurement.objects.filter(child=OuterRef("child")), monday_of(today)
    rows = (
        enrolments.in_force(today)
        .select_related("child", "cohort")
        .annotate(
            answers=answers_in_json(today, "child"),
            family=family_state(timezone.now()),
            colleagues=_colleagues(user),
            heights=ArraySubquery(
                heights.order_by("on").values(json=JSONObject(on="on", height="height"))
            ),
            asked=ArraySubquery(_UNANSWERED),
            sport=sport_in_json(monday, week_end(monday)),
            here=here_in_json(monday),
        )
        .order_by("child__given_name", "child__family_initial", "child", "cohort__name")
    )
    found: dict[int, Who] = {}
    each: Any
    for each in rows:
        before = found.get(each.child_id)
        cohorts = (*before.cohorts, each.cohort) if before else (each.cohort,)
        answers = FamilyAnswers.said(each.answers)
        may_be_measured = answers.agree_to(ConsentPurpose.MEASUREMENTS)
        measured = tuple(
            Measurement(dt.date.fromisoformat(one["on"]), one["height"])
            for one in each.heights
            if may_be_measured
        )
        shows_uploads = answers.agree_to(ConsentPurpose.PHOTOS)
        asked = tuple(_asked(one, shows_uploads=shows_uploads) for one in each.asked)
        others = (*(before.colleagues if before else ()), *_named(each.colleagues))
        found[each.child_id] = Who(
            each.child,
            cohorts,
            FamilyState(each.family),
            answers,
            measured,
            asked,
            tuple(dict.fromkeys(others)),
            sport_of(each.sport),
            here_of(each.here),
        )
    return list(found.values())
