import datetime as dt

from django.db import models
from django.db.models import F, Q

from library.models.exercises import Exercise

LONGEST_NOTE = 1000  # letters


class ExerciseNoteQuerySet(models.QuerySet["ExerciseNote"]):
    def standing(self) -> "ExerciseNoteQuerySet":
        """Those nobody has removed."""
        return self.filter(removed_at__isnull=True)


class ExerciseNote(models.Model):
    """What a coach has to say to everybody who does an exercise. It names no child and nobody's
    family, and stays on record when it is removed."""

    exercise = models.ForeignKey(Exercise, on_delete=models.CASCADE, related_name="notes")
    text = models.CharField(max_length=LONGEST_NOTE)
    kept_at = models.DateTimeField()
    kept_by_name = models.CharField(max_length=80)
    removed_at = models.DateTimeField(null=True)
    removed_by_name = models.CharField(max_length=80, blank=True)

    objects = ExerciseNoteQuerySet.as_manager()

    class Meta:
        ordering = ["kept_at", "pk"]
        constraints = [
            models.CheckConstraint(name="a_note_says_something", condition=~Q(text="")),
            models.CheckConstraint(
                name="a_note_is_removed_by_somebody_after_it_was_kept",
                condition=Q(removed_at__isnull=True, removed_by_name="")
                | (Q(removed_at__gte=F("kept_at")) & ~Q(removed_by_name="")),
            ),
        ]

    def __str__(self) -> str:
        return self.text

    def remove(self, by_name: str, now: dt.datetime) -> None:
        """Out of sight. A second time does nothing."""
        standing = ExerciseNote.objects.standing().filter(pk=self.pk)
        standing.update(removed_at=now, removed_by_name=by_name)
