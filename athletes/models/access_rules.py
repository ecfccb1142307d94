import datetime as dt
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

if TYPE_CHECKING:
    from athletes.models.users import User

HISTORY_DAYS: Final = 90
LONGEST_HISTORY: Final = 730
KEPT_YEARS: Final = 3
LONGEST_KEPT: Final = 25


class AccessRulesQuerySet(models.QuerySet["AccessRules"]):
    def current(self) -> "AccessRules":
        """The program's, or the usual ones where it has set none."""
        return self.filter(pk=1).first() or AccessRules()

    def change(self, by: "User", now: dt.datetime, **said: object) -> None:
        self.update_or_create(pk=1, defaults={**said, "by": by, "at": now})


class AccessRules(models.Model):
    """What a program sets about who may look at what, and how long it is kept: one row, or none
    while the usual holds."""

    history_days = models.PositiveSmallIntegerField(
        "Days that a coach may look back",
        default=HISTORY_DAYS,
        db_default=HISTORY_DAYS,
        validators=[MaxValueValidator(LONGEST_HISTORY)],
        help_text="at what a child did in the own cohort, after it has left; 0 is not at all",
    )
    kept_years = models.PositiveSmallIntegerField(
        "Years that a child is kept",
        default=KEPT_YEARS,
        db_default=KEPT_YEARS,
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_KEPT)],
        help_text="after its last day in any cohort; then everything about it is erased",
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(null=True)

    objects = AccessRulesQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "access rules"
        constraints = [
            models.CheckConstraint(name="one_row_of_access_rules", condition=Q(pk=1)),
            models.CheckConstraint(
                name="looking_back_ends", condition=Q(history_days__lte=LONGEST_HISTORY)
            ),
            models.CheckConstraint(
                name="keeping_ends", condition=Q(kept_years__range=(1, LONGEST_KEPT))
            ),
        ]

    def __str__(self) -> str:
        return f"a coach looks back {self.history_days} days"
