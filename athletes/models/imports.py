import datetime as dt
import uuid
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Q

if TYPE_CHECKING:
    from athletes.models.users import User

LIFETIME = dt.timedelta(hours=1)
WAITS = dt.timedelta(days=30)
"""How long what a coach asks for waits for a head coach."""


class ImportDraftQuerySet(models.QuerySet["ImportDraft"]):
    def visible_to(self, user: "User") -> "ImportDraftQuerySet":
        """A file that was read but not yet taken over is its owner's alone, and not for long. What
        a coach asks for, a head coach sees as well."""
        if not user.is_active or not user.is_coach:
            return self.none()
        asked = Q(asked_at__isnull=False) if user.is_head_coach else Q(pk__in=[])
        return self.filter(Q(owner=user) | asked)

    def fresh(self, moment: dt.datetime) -> "ImportDraftQuerySet":
        return self.filter(_is_fresh(moment))

    def expired(self, moment: dt.datetime) -> "ImportDraftQuerySet":
        return self.filter(~_is_fresh(moment))

    def waiting(self, moment: dt.datetime) -> "ImportDraftQuerySet":
        """What coaches ask for and no head coach has answered."""
        return self.fresh(moment).filter(asked_at__isnull=False, used_at__isnull=True)


def _is_fresh(moment: dt.datetime) -> Q:
    is_looked_at = Q(asked_at__isnull=True, created_at__gt=moment - LIFETIME)
    return is_looked_at | Q(asked_at__isnull=False, asked_at__gt=moment - WAITS)


class ImportDraft(models.Model):
    """A file of children, or one child, between its preview and the decision about it.

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
    month_first = models.BooleanField(
        default=False, help_text="how the dates of what is asked for are read"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    asked_at = models.DateTimeField(
        null=True, blank=True, help_text="when a coach asked a head coach to add these children"
    )
    used_at = models.DateTimeField(null=True, blank=True)
    added = models.PositiveIntegerField(default=0, help_text="children that came of it")

    objects = ImportDraftQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.CheckConstraint(
                name="a_used_import_keeps_no_children",
                condition=Q(used_at__isnull=True) | Q(table={}),
            )
        ]

    def __str__(self) -> str:
        return f"import of {self.created_at:%d %B %H:%M}"

    @property
    def count(self) -> int:
        """Children asked for."""
        return len(self.table.get("rows", ()))
