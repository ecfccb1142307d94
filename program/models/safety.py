import datetime as dt
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from program.engine.pain import HIGHEST_SPARES_FROM, SPARES_FROM

if TYPE_CHECKING:
    from athletes.models import User


class SafetyRulesQuerySet(models.QuerySet["SafetyRules"]):
    def current(self) -> "SafetyRules":
        """The program's, or the usual ones where it has set none."""
        return self.filter(pk=1).first() or SafetyRules()

    def change(self, by: "User", now: dt.datetime, **said: object) -> None:
        self.update_or_create(pk=1, defaults={**said, "by": by, "at": now})


class SafetyRules(models.Model):
    """What a program sets about pain: one row, or none while the usual holds."""

    spares_from = models.PositiveSmallIntegerField(
        "A place is spared from",
        default=SPARES_FROM,
        validators=[MinValueValidator(1), MaxValueValidator(HIGHEST_SPARES_FROM)],
        help_text="how much it hurts, 1 to 10, from which a place is spared until somebody answers",
    )
    call_whom = models.CharField("Who families ring first", max_length=60, blank=True)
    call_number = models.CharField("Their number", max_length=30, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(null=True)

    objects = SafetyRulesQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "safety rules"
        constraints = [
            models.CheckConstraint(name="one_row_of_safety_rules", condition=Q(pk=1)),
            models.CheckConstraint(
                name="a_place_is_always_spared_from_some_score",
                condition=Q(spares_from__range=(1, HIGHEST_SPARES_FROM)),
                violation_error_message="Choose a number from 1 to 4: sparing is never off.",
            ),
        ]

    def __str__(self) -> str:
        return f"spares from {self.spares_from} of 10"

    @property
    def call_link(self) -> str:
        """The number as a phone dials it (RFC 3966)."""
        return "".join(each for each in self.call_number if each.isdigit() or each == "+")
