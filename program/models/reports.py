import datetime as dt
import uuid
from typing import TYPE_CHECKING, Any, Final

from django.conf import settings
from django.db import models
from django.db.models import ExpressionWrapper, OuterRef, Q
from django.db.models.functions import Coalesce

from athletes.models import Child
from program.models.blocks import Block
from program.models.read_by_family import unread_by

if TYPE_CHECKING:
    from athletes.models import User

SECTIONS: Final = ("practised", "learnt", "consistency", "ahead")
"""The paragraphs that are written from what happened; a coach may put others in their place."""


class ReportQuerySet(models.QuerySet["Report"]):
    def visible_to(self, user: "User") -> "ReportQuerySet":
        """A block's coaches see its reports, of who has left the cohort as long as the program
        lets them look back; whoever else sees the child, the sent ones."""
        sent = Q(child__in=Child.objects.visible_to(user), sent_at__isnull=False)
        return self.filter(Q(pk__in=self.written_by(user).values("pk")) | sent)

    def written_by(self, user: "User") -> "ReportQuerySet":
        """Those that are a coach's to write, send and correct."""
        return self.filter(
            block__in=Block.objects.visible_to(user), child__in=Child.objects.remembered_by(user)
        )

    def sent(self) -> "ReportQuerySet":
        return self.filter(sent_at__isnull=False)

    def unread_by(self, user: "User") -> "ReportQuerySet":
        """What this person, of the family, has not opened yet as it stands."""
        return self.sent().filter(_is_unread_by(user))

    def with_unread(self, user: "User") -> "ReportQuerySet":
        """With `is_unread`."""
        return self.annotate(is_unread=ExpressionWrapper(_is_unread_by(user), _BOOLEAN))

    def waiting(self) -> "ReportQuerySet":
        """Still to be written, for the first time or anew."""
        return self.filter(generated_at__isnull=True)

    def ready(self) -> "ReportQuerySet":
        """Written, and not sent yet."""
        return self.filter(generated_at__isnull=False, sent_at__isnull=True)

    def by_name(self) -> "ReportQuerySet":
        names = ("child__given_name", "child__family_initial", "pk")
        return self.with_people().order_by(*names)

    def latest_first(self) -> "ReportQuerySet":
        """Of those that are sent."""
        return self.order_by(Coalesce("corrected_at", "sent_at").desc(), "-pk")

    def with_people(self) -> "ReportQuerySet":
        return self.select_related("child", "edited_by", "sent_by", "words_by", "corrected_by")


_BOOLEAN: Final = models.BooleanField()


def _is_unread_by(user: "User") -> Q:
    return unread_by(user, "report", Coalesce(OuterRef("corrected_at"), OuterRef("sent_at")))


class Report(models.Model):
    """What a block was for one child, for its family. Nobody but coaches sees it until it is sent;
    from then on it changes by a correction alone, and an EarlierReport keeps what stood before.

    `written` is made from what happened and made anew as often as somebody asks; what a coach has
    put in a paragraph's place, and the coach's own words, are theirs and stay.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="reports")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="reports")
    written = models.JSONField(
        default=dict, help_text="the text of each section and the pathways, as they were made"
    )
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
    words_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        related_name="+",
        help_text="whose words they are to the family",
    )
    corrected_at = models.DateTimeField(null=True)
    corrected_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    correction = models.CharField(
        max_length=200, blank=True, help_text="what the last correction put right, to the family"
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
            models.CheckConstraint(
                name="what_is_corrected_was_sent",
                condition=Q(corrected_at__isnull=True)
                | Q(sent_at__isnull=False, sent_at__lte=models.F("corrected_at")),
            ),
            models.CheckConstraint(
                name="a_correction_says_what_it_is",
                condition=Q(corrected_at__isnull=True, correction="")
                | Q(corrected_at__isnull=False) & ~Q(correction=""),
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
            return "corrected" if self.corrected_at else "sent"
        return "ready to send" if self.generated_at else "waits to be written"

    @property
    def went_at(self) -> dt.datetime | None:
        """When what the family has now went to it; none before it is sent."""
        return self.corrected_at or self.sent_at

    def write(self, page: dict[str, Any], now: dt.datetime) -> None:
        """Take over what was made of the facts; nothing of the coach's is touched."""
        self.written, self.generated_at = page, now

    def keep_as_it_stands(self) -> "EarlierReport":
        """What the family reads now, before a correction takes its place. Raises ValueError for a
        report that no family has."""
        if self.went_at is None:
            raise ValueError("Only what was sent is kept.")
        texts = {section: self.text(section) for section in SECTIONS}
        return EarlierReport.objects.create(
            report=self,
            version=self.version,
            written=self.written | texts,
            words=self.words,
            words_by=self.words_by,
            correction=self.correction,
            sent_at=self.went_at,
            sent_by=self.corrected_by if self.corrected_at else self.sent_by,
        )


class EarlierReportQuerySet(models.QuerySet["EarlierReport"]):
    def visible_to(self, user: "User") -> "EarlierReportQuerySet":
        """The coaches of the block alone; a family has the corrected report."""
        return self.filter(report__in=Report.objects.written_by(user))


class EarlierReport(models.Model):
    """What a family had until it was corrected. A trigger refuses changes."""

    report = models.ForeignKey(Report, on_delete=models.CASCADE, related_name="earlier")
    version = models.PositiveIntegerField(help_text="the report's, when it stood so")
    written = models.JSONField(help_text="as Report.written, with the coach's own paragraphs in it")
    words = models.TextField(max_length=2000, blank=True)
    words_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    correction = models.CharField(max_length=200, blank=True, help_text="empty in the first")
    sent_at = models.DateTimeField(help_text="when it went to the family")
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = EarlierReportQuerySet.as_manager()

    class Meta:
        ordering = ["report", "-version"]
        constraints = [
            models.UniqueConstraint(
                name="one_earlier_report_of_a_version", fields=["report", "version"]
            )
        ]

    def __str__(self) -> str:
        return f"{self.report}, version {self.version}"

    def generated(self, section: str) -> str:
        return str(self.written.get(section, ""))

    text = generated

    @property
    def corrected_at(self) -> dt.datetime | None:
        return self.sent_at if self.correction else None
