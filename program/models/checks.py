import datetime as dt
from typing import TYPE_CHECKING

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from library.shared.reasons import in_words
from program.engine.checks import CheckResult
from program.models.sessions import Session

if TYPE_CHECKING:
    from athletes.models import User


class CheckChangeQuerySet(models.QuerySet["CheckChange"]):
    def standing(self) -> "CheckChangeQuerySet":
        return self.filter(ended_at__isnull=True, awaits_second=False)

    def waiting(self) -> "CheckChangeQuerySet":
        """Those that hold once a second head coach confirms them."""
        return self.filter(ended_at__isnull=True, awaits_second=True)

    def with_names(self) -> "CheckChangeQuerySet":
        return self.select_related("by", "ended_by", "confirmed_by")

    def end(self, by: "User", now: dt.datetime) -> int:
        """Those that stand or wait no longer do; how many they were."""
        return self.filter(ended_at__isnull=True).update(ended_at=now, ended_by=by)


class CheckChange(models.Model):
    """The program's word on one check: it is off, or has another limit. Who, when and why are kept,
    also when it no longer holds.

    What weakens a stop `awaits_second` until another head coach confirms it. Where there is none it
    stands unconfirmed, and is said again at every publishing that it lets pass.
    """

    code = models.CharField(max_length=40, help_text="the code of the rule")
    is_off = models.BooleanField(default=False)
    least = models.PositiveSmallIntegerField(null=True, blank=True)
    most = models.PositiveSmallIntegerField(null=True, blank=True)
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()
    awaits_second = models.BooleanField(default=False)
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    confirmed_at = models.DateTimeField(null=True)
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
                condition=Q(ended_at__isnull=True, awaits_second=False),
            ),
            models.UniqueConstraint(
                name="one_waiting_change_per_check",
                fields=["code"],
                condition=Q(ended_at__isnull=True, awaits_second=True),
            ),
            models.CheckConstraint(
                name="check_change_reason_is_words", condition=in_words("reason")
            ),
            models.CheckConstraint(
                name="check_change_confirmed_by_another",
                condition=Q(confirmed_by__isnull=True)
                | Q(by__isnull=True)
                | ~Q(confirmed_by=F("by")),
            ),
            models.CheckConstraint(
                name="check_change_waits_or_is_confirmed",
                condition=Q(awaits_second=False) | Q(confirmed_at__isnull=True),
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
    said then, and by their keys of which children."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="stop_reasons")
    code = models.CharField(max_length=40, help_text="the code of the rule")
    sentence = models.CharField(max_length=300, help_text="what the check said")
    children = ArrayField(models.BigIntegerField(), default=list, help_text="whom it meant")
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
                name="one_reason_per_stop", fields=["session", "code", "sentence", "children"]
            ),
            models.CheckConstraint(name="stop_reason_is_words", condition=in_words("reason")),
        ]

    def __str__(self) -> str:
        return self.reason

    def covers(self, result: CheckResult) -> bool:
        """Whether it was given for just this, and for every child whom this means."""
        is_this = (self.code, self.sentence) == (result.code, result.sentence)
        return is_this and set(result.who) <= set(self.children)
