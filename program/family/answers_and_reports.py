"""What a coach has answered or reported lately: it stands on a family's first page for some days.

Nobody keeps what a family has read, so it is the time that ends it.
"""

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Exists, OuterRef, Q
from django.db.models.functions import JSONObject
from django.urls import reverse

from athletes.models import Child, Guardianship
from program.models import Question, Report

if TYPE_CHECKING:
    from athletes.models import User

STANDS_FOR: Final = dt.timedelta(days=7)
"""So that it is met by whoever looks once a week. A house rule."""
MOST: Final = 4
"""Of each kind and child; all of them stand under its questions and its reports."""


@dataclass(frozen=True)
class Lately:
    """An answer or a report. `url` is "" for an answer whose session is gone."""

    sentence: str
    url: str


def lately_of(user: "User", children: Iterable[Child], now: dt.datetime) -> dict[int, list[Lately]]:
    """By child, reports first; nothing of a child that is not the person's own family. In one
    query."""
    since = now - STANDS_FOR
    guards = Guardianship.objects.filter(child=OuterRef("pk"), guardian=user)
    own = Child.objects.filter(Q(user=user) | Exists(guards), pk__in=[each.pk for each in children])
    rows = own.values_list("pk", "public_id", _reports(user, since), _answers(user, since))
    return {
        key: [
            *(_report(public_id, each) for each in reports),
            *(_answer(public_id, each) for each in answers),
        ]
        for key, public_id, reports, answers in rows
    }


def _reports(user: "User", since: dt.datetime) -> ArraySubquery:
    went = Q(sent_at__gte=since) | Q(corrected_at__gte=since)
    reports = Report.objects.visible_to(user).sent().filter(went, child=OuterRef("pk"))
    said = JSONObject(report="public_id", block="block__name", corrected="corrected_at")
    return ArraySubquery(reports.values(json=said)[:MOST])


def _answers(user: "User", since: dt.datetime) -> ArraySubquery:
    questions = Question.objects.visible_to(user).filter(
        answered_at__gte=since, child=OuterRef("pk")
    )
    said = JSONObject(
        exercise="exercise__current__name",
        session="assigned_session__public_id",
        name="assigned_session__name",
    )
    return ArraySubquery(questions.order_by("-answered_at", "-pk").values(json=said)[:MOST])


def _report(child: uuid.UUID, said: Mapping[str, Any]) -> Lately:
    state = "corrected" if said["corrected"] else "here"
    url = reverse("program:family_report", args=[child, said["report"]])
    return Lately(f"A report is {state}: {said['block']}.", url)


def _answer(child: uuid.UUID, said: Mapping[str, Any]) -> Lately:
    session, about = said["session"], said["exercise"] or said["name"]
    sentence = f"The coach has answered the question on {about}." if about else "An answer is here."
    url = reverse("program:ask", args=[child, session]) if session else ""
    return Lately(sentence, url)
