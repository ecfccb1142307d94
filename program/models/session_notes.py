from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Q

from program.models.sessions import Session

if TYPE_CHECKING:
    from athletes.models import User


class SessionNoteQuerySet(models.QuerySet["SessionNote"]):
    def visible_to(self, user: "User") -> "SessionNoteQuerySet":
        """Those who coach the session; no family, and no child's other coaches."""
        return self.filter(session__in=Session.objects.visible_to(user))


class SessionNote(models.Model):
    """A coach's word on how a session went as a whole, for the coaches of its cohort."""

    session = models.OneToOneField(Session, on_delete=models.PROTECT, related_name="group_note")
    text = models.TextField(max_length=1000)
    written_at = models.DateTimeField()
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    edited_at = models.DateTimeField(null=True)
    edited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = SessionNoteQuerySet.as_manager()

    class Meta:
        ordering = ["session"]
        constraints = [
            models.CheckConstraint(name="session_note_says_something", condition=~Q(text="")),
            models.CheckConstraint(
                name="session_note_is_edited_after_it_is_written",
                condition=Q(edited_at__isnull=True) | Q(edited_at__gte=models.F("written_at")),
            ),
        ]

    def __str__(self) -> str:
        return self.text

    @property
    def mark(self) -> str:
        """What somebody saw of it; it changes with every edit."""
        return (self.edited_at or self.written_at).isoformat()
