from django.conf import settings
from django.db import models
from django.db.models import F, Q

from library.models import Exercise
from library.shared.reasons import LONGEST_REASON, in_words


class RecallQuerySet(models.QuerySet["Recall"]):
    def standing(self) -> "RecallQuerySet":
        return self.filter(ended_at__isnull=True)

    def of(self, exercise: Exercise) -> "RecallQuerySet":
        return self.filter(exercise=exercise)

    def with_names(self) -> "RecallQuerySet":
        return self.select_related("by", "ended_by")


class Recall(models.Model):
    """An exercise that nobody is to do, and why; as long as it stands, fit gives it to no child. A
    trigger renews the library's edition with it."""

    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="recalls")
    reason = models.CharField(max_length=LONGEST_REASON, help_text="families read it")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = RecallQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_standing_recall_per_exercise",
                fields=["exercise"],
                condition=Q(ended_at__isnull=True),
            ),
            models.CheckConstraint(name="recall_reason_is_words", condition=in_words("reason")),
            models.CheckConstraint(
                name="recall_ends_after_it_begins",
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("at")),
            ),
        ]

    def __str__(self) -> str:
        return self.reason

    @property
    def words(self) -> str:
        """The reason as it stands within a sentence."""
        return self.reason.rstrip(" .!")
