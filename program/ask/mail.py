"""Mails about questions and reports: a link and at most the given name. What was written stays in
Fledge, where every guardian and every coach of the child reads it."""

from typing import TYPE_CHECKING

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone

from athletes.loaders import is_family_of
from athletes.mailing import link_to, notify
from athletes.models import Role, User
from program.models import Question

if TYPE_CHECKING:
    from library.shared.access import Request


def tell_coaches(request: "Request", question: Question) -> None:
    """Tell the coaches of the child's cohorts, or where there are none the head coaches. A coach
    who asks as the child's parent is none of them: somebody else is to answer."""
    today = timezone.localdate()
    running = question.child.enrolments.in_force(today).values("cohort")
    coaches = User.objects.filter(cohorts__in=running).distinct()
    if is_family_of(request.user, question.child):
        coaches = coaches.exclude(pk=request.user.pk)
    if not coaches.exists():
        coaches = User.objects.filter(role=Role.HEAD_COACH)
    link = reverse("program:question", args=[question.public_id])
    _tell(request, coaches, "A family has a question", "question_asked", question, link)


def tell_family(request: "Request", question: Question) -> None:
    child = question.child
    link = reverse("program:family_questions", args=[child.public_id])
    _tell(request, child.family_told(), "A coach has answered", "question_answered", question, link)


def _tell(
    request: "Request",
    people: QuerySet[User],
    subject: str,
    about: str,
    question: Question,
    link: str,
) -> None:
    """Nobody is told of what they wrote themselves."""
    others = people.exclude(pk=request.user.pk)
    context = {
        "given_name": question.child.given_name,
        "link": link_to(request, link),
    }
    notify(request, others, subject, f"program/ask/mail/{about}.txt", context)
