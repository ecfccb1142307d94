import datetime as dt
import uuid
from typing import TYPE_CHECKING

from django.conf import settings
from django.contrib.postgres.functions import RandomUUID
from django.db import models
from django.db.models import Count, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from athletes.models import Child
from athletes.models.circumstances import REGION_CHOICES, SIDE_CHOICES
from library.body import Region, Side
from program.models.assigned import AssignedSession, AssignedSlot

if TYPE_CHECKING:
    from athletes.models import User


class PainReportQuerySet(models.QuerySet["PainReport"]):
    def visible_to(self, user: "User") -> "PainReportQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def unseen(self) -> "PainReportQuerySet":
        return self.filter(seen_at__isnull=True)

    def for_review(self) -> "PainReportQuerySet":
        """With all that a finding shows; `earlier` counts the child's reports of the same region
        before it."""
        before = PainReport.objects.filter(
            child=OuterRef("child"),
            region=OuterRef("region"),
            reported_at__lt=OuterRef("reported_at"),
        )
        counted = before.order_by().values("child").annotate(n=Count("pk")).values("n")
        return self.select_related(
            "child",
            "assigned_session__session__block__cohort",
            "assigned_slot__revision",
            "reported_by",
            "seen_by",
        ).annotate(earlier=Coalesce(Subquery(counted), 0))

    def mark_seen(self, by: "User", now: dt.datetime) -> int:
        """Who sees a report first is kept; how many were not seen before."""
        return self.unseen().update(seen_at=now, seen_by=by)


class PainReport(models.Model):
    """Something hurt: where and how much, as the family says it. Never a diagnosis."""

    public_id = models.UUIDField(
        default=uuid.uuid4,
        db_default=RandomUUID(),
        unique=True,
        editable=False,
        help_text="made by the form or the phone it comes from: sent twice, it is one report",
    )
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="pain_reports")
    assigned_session = models.ForeignKey(
        AssignedSession, on_delete=models.CASCADE, null=True, related_name="pain_reports"
    )
    assigned_slot = models.ForeignKey(
        AssignedSlot, on_delete=models.SET_NULL, null=True, blank=True, related_name="pain_reports"
    )
    region = models.CharField(max_length=12, choices=REGION_CHOICES)
    side = models.CharField(max_length=5, choices=SIDE_CHOICES)
    level = models.PositiveSmallIntegerField(help_text="1 to 10")
    note = models.CharField(max_length=300, blank=True)
    reported_at = models.DateTimeField()
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    seen_at = models.DateTimeField(null=True, blank=True)
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = PainReportQuerySet.as_manager()

    class Meta:
        ordering = ["-reported_at"]
        constraints = [
            models.CheckConstraint(
                name="pain_level_between_1_and_10",
                condition=Q(level__range=(1, 10)),
                violation_error_message="How much it hurts runs from 1 to 10.",
            ),
            models.CheckConstraint(
                name="pain_region_is_known",
                condition=Q(region__in=[region.value for region in Region]),
            ),
            models.CheckConstraint(
                name="pain_side_is_known", condition=Q(side__in=[side.value for side in Side])
            ),
        ]

    def __str__(self) -> str:
        """ "left knee, 4 of 10" """
        sided = self.side in {Side.LEFT, Side.RIGHT}
        where = f"{self.side} {self.get_region_display()}" if sided else self.get_region_display()
        return f"{where}, {self.level} of 10"

    @property
    def reported_on(self) -> dt.date:
        return timezone.localtime(self.reported_at).date()
