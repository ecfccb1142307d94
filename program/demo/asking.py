"""Writing what the demo's families ask: two questions that wait, and one that was answered."""

import datetime as dt
from collections.abc import Sequence
from typing import Final

from django.utils import timezone

from athletes.models import Child, User
from program.models import AssignedSession, Question

WAITING: Final = (
    (0, "The step wobbles a little on our stairs. Is the floor with two books as good?"),
    (5, "She says her wrists tire before her arms do. Is that how it should feel?"),
)
ANSWERED: Final = (
    3,
    "Our rope is too long. Knot it or cut it?",
    "Knot it near the handles, so that it passes under the arms. It will be long enough next year.",
)


def write_questions(children: Sequence[Child], today: dt.date, coach: User) -> None:
    """On the last session before today, asked that evening."""
    for number, text in WAITING:
        if number < len(children):
            _ask(children[number], text, today)
    number, text, answer = ANSWERED
    if number < len(children) and (question := _ask(children[number], text, today)):
        question.answer, question.answered_by = answer, coach
        question.answered_at = question.asked_at + dt.timedelta(hours=2)
        question.save()


def _ask(child: Child, text: str, today: dt.date) -> Question | None:
    session = AssignedSession.objects.filter(child=child, date__lt=today).last()
    if session is None:
        return None
    return Question.objects.create(
        child=child,
        assigned_session=session,
        text=text,
        asked_at=timezone.make_aware(dt.datetime.combine(session.date, dt.time(19))),
        asked_by=child.guardians.first(),
    )
