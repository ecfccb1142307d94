from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models

if TYPE_CHECKING:
    import datetime as dt

    from athletes.models import User


class UndoableQuerySet[Row: "Undoable"](models.QuerySet[Row]):
    def standing(self) -> Self:
        """Those nobody has undone."""
        return self.filter(undone_at__isnull=True)


class Undoable(models.Model):
    """Something that was done, by whom and when, and whether and by whom it was undone. Kept either
    way; what undoing needs to know is the model's own."""

    sentence = models.CharField(max_length=300, help_text="what was done, as the coach reads it")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.sentence

    def note_undone(self, by: "User", now: "dt.datetime") -> None:
        self.undone_at, self.undone_by = now, by
        self.save(update_fields=["undone_at", "undone_by"])
