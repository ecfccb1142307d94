"""What a coach has answered or reported: it stands on a family's first page until each of them has
opened it."""

import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import OuterRef, QuerySet
from django.db.models.functions import JSONObject
from django.urls import reverse

from athletes.models import Child
from program.engine.wording import plural
from program.models import Question, Report

if TYPE_CHECKING:
    from athletes.models import User

MOST_NAMED: Final = 3
"""Reports with a line each; more are counted, since whoever joins a family has all of them unread.
A house rule."""


@dataclass(frozen=True)
class Unread:
    """A line of the first page, and the page where it is read."""

    sentence: str
    url: str


def unread_of(user: "User", children: Iterable[Child]) -> dict[int, list[Unread]]:
    """By child, reports first; nothing of a child that is not the person's own family. In one
    query."""
    own = Child.objects.of_family(user).filter(pk__in=[each.pk for each in children])
    rows = own.values_list("pk", "public_id", _reports(user), _answers(user))
    return {
        key: [*_of_reports(public_id, reports), *_of_answers(public_id, answers)]
        for key, public_id, reports, answers in rows
    }


def _reports(user: "User") -> ArraySubquery:
    reports = Report.objects.visible_to(user).unread_by(user).latest_first()
    return _listed(reports, report="public_id", block="block__name", corrected="corrected_at")


def _answers(user: "User") -> ArraySubquery:
    questions = Question.objects.visible_to(user).unread_by(user)
    return _listed(questions, exercise="exercise__current__name", session="assigned_session__name")


def _listed(rows: QuerySet[Any], **columns: str) -> ArraySubquery:
    return ArraySubquery(rows.filter(child=OuterRef("pk")).values(json=JSONObject(**columns)))


def _of_reports(child: uuid.UUID, found: Sequence[Mapping[str, Any]]) -> Iterator[Unread]:
    for each in found[:MOST_NAMED]:
        state = "corrected" if each["corrected"] else "here"
        url = reverse("program:family_report", args=[child, each["report"]])
        yield Unread(f"A report is {state}: {each['block']}.", url)
    if (more := len(found) - MOST_NAMED) > 0:
        verb = "is" if more == 1 else "are"
        url = reverse("program:family_reports", args=[child])
        yield Unread(f"{plural(more, 'more report')} {verb} unread.", url)


def _of_answers(child: uuid.UUID, found: Sequence[Mapping[str, Any]]) -> Iterator[Unread]:
    """One line, since one page shows them all."""
    url = reverse("program:family_questions", args=[child])
    if len(found) > 1:
        yield Unread(f"The coach has answered {len(found)} questions.", url)
    for each in found if len(found) == 1 else ():
        about = each["exercise"] or each["session"]
        on = f" on {about}" if about else ""
        yield Unread(f"The coach has answered the question{on}.", url)
