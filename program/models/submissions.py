from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Q

from athletes.models import Child
from program.models.assigned import AssignedSession

if TYPE_CHECKING:
    from athletes.models import User


class SubmissionKind(models.TextChoices):
    STARTED = "started", "started"
    EASIER = "easier", "took the easier option"
    PAIN = "pain", "something hurts"
    LOG = "log", "log"
    ASK = "ask", "question"


class SubmissionState(models.TextChoices):
    WRITTEN = "written", "written"
    CONFLICT = "conflict", "another log was there"
    REFUSED = "refused", "could not be written"
    SETTLED = "settled", "looked at"


class SubmissionQuerySet(models.QuerySet["Submission"]):
    def visible_to(self, user: "User") -> "SubmissionQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def undecided(self) -> "SubmissionQuerySet":
        """Logs that came after another one: kept until somebody chooses between the two."""
        return self.filter(state=SubmissionState.CONFLICT).select_related("by", "assigned_session")


class Submission(models.Model):
    """One thing a phone sent, perhaps long after it was written and perhaps more than once.

    The phone makes the id, so the same thing sent again is the same row. What has been written
    where it belongs is not kept here a second time: `payload` holds only what could not be, and
    which exercise an easier choice was for.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="+")
    assigned_session = models.ForeignKey(
        AssignedSession, on_delete=models.SET_NULL, null=True, related_name="submissions"
    )
    kind = models.CharField(max_length=7, choices=SubmissionKind)
    state = models.CharField(max_length=8, choices=SubmissionState)
    sentence = models.CharField(max_length=300, blank=True, help_text="what the sender is told")
    payload = models.JSONField(default=dict, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    received_at = models.DateTimeField()

    objects = SubmissionQuerySet.as_manager()

    class Meta:
        ordering = ["received_at"]
        constraints = [
            models.CheckConstraint(
                name="submission_kind_is_known",
                condition=Q(kind__in=SubmissionKind.values),
            ),
            models.CheckConstraint(
                name="submission_state_is_known",
                condition=Q(state__in=SubmissionState.values),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.get_state_display()}"

    def settle(self) -> None:
        """Somebody has chosen: what it said is no longer needed."""
        self.state, self.payload = SubmissionState.SETTLED, {}
        self.save(update_fields=["state", "payload"])
