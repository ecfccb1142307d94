"""Writing what the demo's families ask: questions that wait, one with a photo, and one that was
answered and kept as a note."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.utils import timezone

from athletes.models import Child, User
from library.models import Exercise
from library.shared.uploads.keeping import kept
from program.demo.photo import two_books_on_a_floor
from program.models import AssignedSession, Question


@dataclass(frozen=True)
class Asked:
    """Asked by the family of the child in that place of the club, on the last session before today
    that holds the exercise; "" is any session."""

    place: int
    exercise: str
    text: str
    has_photo: bool = False


WAITING: Final = (
    Asked(
        0,
        "step-down",
        "The step wobbles a little on our stairs. Is the floor with two books as good?",
        has_photo=True,
    ),
    Asked(
        5,
        "pike-push",
        "She says her wrists tire before her arms do. Is that how it should feel?",
    ),
    Asked(9, "", "We are away on Saturday. Is it better a day early or a day late?"),
)
ANSWERED: Final = Asked(4, "rope-bounce", "Our rope is too long. Knot it or cut it?")
ANSWER: Final = (
    "Knot it near the handles, so that it passes under the arms. It will be long enough next year."
)
NOTE: Final = "A rope that is too long: knot it near the handles, so that it passes under the arms."


def write_questions(children: Sequence[Child], today: dt.date, coach: User) -> None:
    """Each asked on the evening of its session."""
    for each in WAITING:
        if each.place < len(children):
            _ask(children[each.place], each, today)
    if ANSWERED.place >= len(children):
        return
    question = _ask(children[ANSWERED.place], ANSWERED, today)
    if question is None:
        return
    question.answer, question.answered_by = ANSWER, coach
    question.answered_at = question.asked_at + dt.timedelta(hours=2)
    question.save()
    if question.exercise:
        question.exercise.notes.create(
            text=NOTE, kept_at=question.answered_at, kept_by_name=coach.name
        )


def _ask(child: Child, asked: Asked, today: dt.date) -> Question | None:
    sessions = AssignedSession.objects.filter(child=child, date__lt=today)
    if asked.exercise:
        sessions = sessions.filter(slots__revision__exercise__slug=asked.exercise)
    session = sessions.last()
    if session is None:
        return None
    with kept(two_books_on_a_floor() if asked.has_photo else None) as upload:
        return Question.objects.create(
            child=child,
            assigned_session=session,
            exercise=Exercise.objects.filter(slug=asked.exercise).first(),
            text=asked.text,
            upload=upload,
            asked_at=timezone.make_aware(dt.datetime.combine(session.date, dt.time(19))),
            asked_by=child.guardians.first(),
        )
