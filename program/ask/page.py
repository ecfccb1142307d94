"""A question as the coach's page shows it."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from athletes.loaders import coaches_of, is_family_of
from athletes.models import User
from program.ask.answering import choices_instead, slots_ahead
from program.engine.wording import listed
from program.models import Question, Resolution, Slot
from program.publish.own_choices import OwnChoice


@dataclass(frozen=True)
class QuestionPage:
    question: Question
    reader: User
    today: dt.date

    @cached_property
    def who_else_answers(self) -> str:
        """Where the reader asked it as the child's parent, and coaches it too: who does besides."""
        asked = self.question
        if asked.asked_by_id != self.reader.pk or not is_family_of(self.reader, asked.child):
            return ""
        others = [each for each in coaches_of(asked.child, self.today) if each != self.reader]
        return listed(map(str, others))

    @cached_property
    def ahead(self) -> Sequence[Slot]:
        """Where the child still gets the exercise it is about; nothing once it is answered."""
        asked = self.question
        if asked.exercise is None or asked.answered_at:
            return ()
        return slots_ahead(asked.child, asked.exercise, self.today)

    @cached_property
    def choices(self) -> list[OwnChoice]:
        asked = self.question
        return choices_instead(asked.child, asked.exercise, self.ahead) if asked.exercise else []

    @cached_property
    def has_left(self) -> bool:
        """Whether the child trains in no cohort any more; its guardians still read the answer."""
        return not self.question.child.enrolments.in_force(self.today).exists()

    @cached_property
    def resolution(self) -> Resolution | None:
        """How it was answered, with the way back."""
        answers = Resolution.objects.standing().filter(child=self.question.child)
        return answers.filter(finding=self.question.key, until__isnull=True).first()

    @property
    def sessions_ahead(self) -> int:
        return len({slot.part.session_id for slot in self.ahead})
