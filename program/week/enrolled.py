"""The children of each cohort, with what of them waits for a coach: one query however many."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Count, Exists, IntegerField, OuterRef, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from athletes.family_state import FamilyState, family_state
from athletes.models import Child, Cohort, Enrolment, HomeKit, Placement, Restriction
from athletes.signals import Circumstance
from program.models import PainReport, Question, Refit

if TYPE_CHECKING:
    from athletes.models import User


@dataclass(frozen=True)
class Enrolled:
    """`asked` counts questions without an answer; `is_changed`: sessions ahead were chosen anew and
    nobody has looked; `is_over`: a restriction is, and nobody has said what comes next; `has_kit`:
    somebody has said what is at home."""

    child: Child
    family: FamilyState
    asked: int
    is_hurt: bool
    is_changed: bool
    is_over: bool
    has_kit: bool
    is_placed: bool


def enrolled_by_cohort(
    user: "User", cohorts: Iterable[Cohort], day: dt.date, today: dt.date
) -> dict[int, list[Enrolled]]:
    """By the cohort's key those in it on the day, in the order of names; what waits is as of
    today."""
    about = {"child": OuterRef("child")}
    questions = Question.objects.unanswered().filter(**about).order_by().values("child")
    counted = questions.annotate(n=Count("pk")).values("n")
    seen_with_the_report = {"what": Circumstance.PAIN}
    rows: Iterable[Any] = (
        Enrolment.objects.visible_to(user)
        .in_force(day)
        .filter(cohort__in=cohorts)
        .select_related("child")
        .annotate(
            family=family_state(timezone.now()),
            asked=Coalesce(Subquery(counted, output_field=IntegerField()), 0),
            is_hurt=Exists(PainReport.objects.unanswered().filter(**about)),
            is_changed=Exists(
                Refit.objects.unseen().filter(**about).exclude(**seen_with_the_report)
            ),
            is_over=Exists(Restriction.objects.unanswered(today).filter(**about)),
            has_kit=Exists(HomeKit.objects.filter(**about)),
            is_placed=Exists(Placement.objects.current().filter(**about)),
        )
        .order_by("child__given_name", "child__family_initial", "child")
    )
    found: dict[int, list[Enrolled]] = {}
    for row in rows:
        one = Enrolled(
            row.child,
            FamilyState(row.family),
            row.asked,
            row.is_hurt,
            row.is_changed,
            row.is_over,
            row.has_kit,
            row.is_placed,
        )
        found.setdefault(row.cohort_id, []).append(one)
    return found


def with_family(children: Sequence[Enrolled], *states: FamilyState) -> list[Enrolled]:
    return [each for each in children if each.family in states]
