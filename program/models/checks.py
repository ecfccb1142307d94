import datetime as dt
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from program.models.sessions import Session

if TYPE_CHECKING:
    from athletes.models import User


class CheckChangeQuerySet(models.QuerySet["CheckChange"]):
    def standing(self) -> "CheckChangeQuerySet":
        return self.filter(ended_at__isnull=True)

    def with_names(self) -> "CheckChangeQuerySet":
        return self.select_related("by", "ended_by")

    def end(self, by: "User", now: dt.datetime) -> int:
        """Those that stand no longer do; how many they were."""
        return self.standing().update(ended_at=now, ended_by=by)


class CheckChange(models.Model):
    """The program's word on one check: it is off, or has another limit. Who, when and why are kept,
    also when it no longer holds."""

    code = models.CharField(max_length=40, help_text="the code of the rule")
    is_off = models.BooleanField(default=False)
    least = models.PositiveSmallIntegerField(null=True, blank=True)
    most = models.PositiveSmallIntegerField(null=True, blank=True)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = CheckChangeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_standing_change_per_check",
                fields=["code"],
                condition=Q(ended_at__isnull=True),
            ),
            models.CheckConstraint(
                name="check_change_has_a_reason", condition=Q(reason__regex=r"\S")
            ),
            models.CheckConstraint(
                name="check_change_is_off_or_has_a_limit",
                condition=Q(is_off=True, least__isnull=True, most__isnull=True)
                | Q(is_off=False, least__isnull=False)
                | Q(is_off=False, most__isnull=False),
            ),
            models.CheckConstraint(
                name="check_limits_in_order",
                condition=Q(least__isnull=True) | Q(most__isnull=True) | Q(least__lte=F("most")),
            ),
            models.CheckConstraint(
                name="check_change_ends_after_it_begins",
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("at")),
            ),
        ]

    def __str__(self) -> str:
        if self.is_off:
            return "off"
        least, most = self.least, self.most
        if least is not None and most is not None:
            return f"{least} to {most}"
        return f"at most {most}" if least is None else f"at least {least}"


class StopReasonQuerySet(models.QuerySet["StopReason"]):
    def visible_to(self, user: "User") -> "StopReasonQuerySet":
        return self.filter(session__in=Session.objects.visible_to(user))


class StopReason(models.Model):
    """Why a session went out although a check said stop: the coach's word, kept with what the check
    said then."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="stop_reasons")
    code = models.CharField(max_length=40, help_text="the code of the rule")
    sentence = models.CharField(max_length=300, help_text="what the check said")
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()

    objects = StopReasonQuerySet.as_manager()

    class Meta:
        ordering = ["session", "-at"]
        constraints = [
            models.UniqueConstraint(
                name="one_reason_per_stop", fields=["session", "code", "sentence"]
            ),
            models.CheckConstraint(name="stop_reason_is_written", condition=Q(reason__regex=r"\S")),
        ]

    def __str__(self) -> str:
        return self.reason
