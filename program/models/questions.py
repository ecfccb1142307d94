import uuid
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.db import models
from django.db.models import Q

from athletes.models import Child
from program.models.assigned import AssignedSession, AssignedSlot

if TYPE_CHECKING:
    from athletes.models import User


LONGEST_ANSWER: Final = 1000


class QuestionQuerySet(models.QuerySet["Question"]):
    def visible_to(self, user: "User") -> "QuestionQuerySet":
        """Whoever may see the child: all its guardians and coaches read every question."""
        return self.filter(child__in=Child.objects.visible_to(user))

    def unanswered(self) -> "QuestionQuerySet":
        return self.filter(answered_at__isnull=True)

    def with_names(self) -> "QuestionQuerySet":
        return self.select_related(
            "asked_by", "answered_by", "assigned_session", "assigned_slot__revision"
        )


class Question(models.Model):
    """What a family asks about a session, and the coach's one answer."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="questions")
    assigned_session = models.ForeignKey(
        AssignedSession, on_delete=models.SET_NULL, null=True, related_name="questions"
    )
    assigned_slot = models.ForeignKey(
        AssignedSlot, on_delete=models.SET_NULL, null=True, related_name="questions"
    )
    text = models.CharField(max_length=600)
    asked_at = models.DateTimeField()
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    answer = models.CharField(max_length=LONGEST_ANSWER, blank=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = QuestionQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            models.CheckConstraint(name="a_question_asks_something", condition=~Q(text="")),
            models.CheckConstraint(
                name="an_answer_says_something_and_when",
                condition=Q(answer="", answered_at__isnull=True)
                | (~Q(answer="") & Q(answered_at__isnull=False)),
            ),
        ]

    def __str__(self) -> str:
        return self.text

    @property
    def about(self) -> str:
        """The exercise, or else the session it was asked on; "" where both are gone."""
        if self.assigned_slot:
            return self.assigned_slot.revision.name
        return self.assigned_session.name if self.assigned_session else ""
