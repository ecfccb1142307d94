import datetime as dt
import uuid
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models

if TYPE_CHECKING:
    from athletes.models.users import User

LIFETIME = dt.timedelta(hours=1)


class ImportDraftQuerySet(models.QuerySet["ImportDraft"]):
    def visible_to(self, user: "User") -> "ImportDraftQuerySet":
        """A file that was read but not yet taken over is its owner's alone, and not for long."""
        if not user.is_active or not user.is_coach:
            return self.none()
        return self.filter(owner=user)

    def fresh(self, moment: dt.datetime) -> "ImportDraftQuerySet":
        return self.filter(created_at__gt=moment - LIFETIME)

    def expired(self, moment: dt.datetime) -> "ImportDraftQuerySet":
        return self.filter(created_at__lte=moment - LIFETIME)


class ImportDraft(models.Model):
    """A file of children between its preview and the decision about it.

    What was read is emptied as soon as it is taken over; what stays for the rest of the hour is
    that it was, so that a second press of the button is answered like the first.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="import_drafts"
    )
    table = models.JSONField(help_text="headings, rows and how the file was read; empty once used")
    cohort = models.ForeignKey(
        "athletes.Cohort",
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="+",
        help_text="for rows that name no cohort",
    )
    created_at = models.DateTimeField(auto_now_add=True)
    used_at = models.DateTimeField(null=True, blank=True)
    added = models.PositiveIntegerField(default=0, help_text="children that came of it")

    objects = ImportDraftQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.CheckConstraint(
                name="a_used_import_keeps_no_children",
                condition=models.Q(used_at__isnull=True) | models.Q(table={}),
            )
        ]

    def __str__(self) -> str:
        return f"import of {self.created_at:%d %B %H:%M}"
