import datetime as dt
import uuid
from typing import TYPE_CHECKING, Any, Final

from django.conf import settings
from django.db import models
from django.db.models import Q

from athletes.models import Child
from program.models.planned import Block

if TYPE_CHECKING:
    from athletes.models import User

SECTIONS: Final = ("practised", "learnt", "consistency", "ahead")
"""The paragraphs that are written from what happened; a coach may put others in their place."""


class ReportQuerySet(models.QuerySet["Report"]):
    def visible_to(self, user: "User") -> "ReportQuerySet":
        """A block's coaches see every report of it; whoever else sees the child, the sent ones."""
        sent = Q(child__in=Child.objects.visible_to(user), sent_at__isnull=False)
        return self.filter(Q(block__in=Block.objects.visible_to(user)) | sent)

    def sent(self) -> "ReportQuerySet":
        return self.filter(sent_at__isnull=False)

    def waiting(self) -> "ReportQuerySet":
        """Still to be written, for the first time or anew."""
        return self.filter(generated_at__isnull=True)

    def ready(self) -> "ReportQuerySet":
        """Written, and not sent yet."""
        return self.filter(generated_at__isnull=False, sent_at__isnull=True)

    def by_name(self) -> "ReportQuerySet":
        names = ("child__given_name", "child__family_initial", "pk")
        return self.select_related("child", "edited_by", "sent_by").order_by(*names)


class Report(models.Model):
    """What a block was for one child, for its family. Nobody but coaches sees it until it is sent,
    and what was sent stays as it was sent.

    `written` is made from what happened and made anew as often as somebody asks; what a coach has
    put in a paragraph's place, and the coach's own words, are theirs and stay.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="reports")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="reports")
    written = models.JSONField(default=dict, help_text="program.reports.Page, as it was made")
    generated_at = models.DateTimeField(null=True, help_text="empty while it waits to be written")
    own_practised = models.TextField(max_length=1200, blank=True)
    own_learnt = models.TextField(max_length=1200, blank=True)
    own_consistency = models.TextField(max_length=1200, blank=True)
    own_ahead = models.TextField(max_length=1200, blank=True)
    words = models.TextField(max_length=2000, blank=True, help_text="the coach's own")
    version = models.PositiveIntegerField(default=1)
    edited_at = models.DateTimeField(null=True)
    edited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    sent_at = models.DateTimeField(null=True)
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = ReportQuerySet.as_manager()

    class Meta:
        ordering = ["-block__starts_on", "pk"]
        constraints = [
            models.UniqueConstraint(name="one_report_of_a_block", fields=["block", "child"]),
            models.CheckConstraint(
                name="what_is_sent_is_written",
                condition=Q(sent_at__isnull=True) | Q(generated_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.child}, {self.block}"

    def generated(self, section: str) -> str:
        return str(self.written.get(section, ""))

    def text(self, section: str) -> str:
        """A paragraph as the family reads it."""
        return getattr(self, f"own_{section}") or self.generated(section)

    @property
    def state(self) -> str:
        if self.sent_at:
            return "sent"
        return "ready to send" if self.generated_at else "waits to be written"

    def write(self, page: dict[str, Any], now: dt.datetime) -> None:
        """Take over what was made of the facts; nothing of the coach's is touched."""
        self.written, self.generated_at = page, now
