import datetime as dt
from typing import TYPE_CHECKING, Final

from django.apps import apps
from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models, transaction
from django.db.models import Q

from library.shared.one_row import OneRowQuerySet

if TYPE_CHECKING:
    from athletes.models.users import User

HISTORY_DAYS: Final = 90
LONGEST_HISTORY: Final = 730
KEPT_YEARS: Final = 3
LONGEST_KEPT: Final = 25
RECORDS_YEARS: Final = 6
"""How long it is kept who changed what and who looked. Common practice, from memory: the records
that let somebody answer for what was done are kept some six years, about as long as it can be
asked about in court; no law known to us says how long a sports club has to."""
LONGEST_RECORDS: Final = 25
USUAL_IDLE_HOURS: Final = 12
MOST_IDLE_HOURS: Final = 72
OWN_SIGN_IN_FROM: Final = 13
"""Years. Many countries let a child of this age agree to a service on the net for itself, others
only at up to 16 (the EU's GDPR, article 8, from memory); here a guardian agrees in any case."""
YOUNGEST_OF_ALL, GROWN_UP = 10, 18


class AccessRulesQuerySet(OneRowQuerySet["AccessRules"]):
    @transaction.atomic
    def change(self, by: "User", now: dt.datetime, **said: object) -> None:
        """Holds at once, also for whoever is signed in."""
        super().change(by, now, **said)
        # By name, because sign-ins stand in a module that imports this one.
        apps.get_model("athletes", "SignIn").objects.end_anew(now)


class AccessRules(models.Model):
    """What a program is called, and what it sets about who comes in, who looks at what, and how
    long it is kept: one row, or none while the usual holds."""

    club_name = models.CharField(
        "The name of your club or program",
        max_length=60,
        blank=True,
        default="",
        db_default="",
        help_text="as families know it; invitations name it",
    )
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
    records_years = models.PositiveSmallIntegerField(
        "Years that it is kept who changed what, and who looked",
        default=RECORDS_YEARS,
        db_default=RECORDS_YEARS,
        validators=[MinValueValidator(1), MaxValueValidator(LONGEST_RECORDS)],
        help_text="about a child or an account; when that is erased, this goes with it, earlier",
    )
    coach_idle_hours = models.PositiveSmallIntegerField(
        "Hours until a coach is signed out",
        default=USUAL_IDLE_HOURS,
        db_default=USUAL_IDLE_HOURS,
        validators=[MinValueValidator(1), MaxValueValidator(MOST_IDLE_HOURS)],
        help_text="without doing anything; families stay signed in for thirty days",
    )
    own_sign_in_from = models.PositiveSmallIntegerField(
        "A young athlete’s own sign-in, from the age of",
        default=OWN_SIGN_IN_FROM,
        db_default=OWN_SIGN_IN_FROM,
        validators=[MinValueValidator(YOUNGEST_OF_ALL), MaxValueValidator(GROWN_UP)],
        help_text="years; a parent or guardian has to agree in any case",
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
            models.CheckConstraint(
                name="keeping_records_ends",
                condition=Q(records_years__range=(1, LONGEST_RECORDS)),
            ),
            models.CheckConstraint(
                name="an_idle_coach_is_signed_out_some_day",
                condition=Q(coach_idle_hours__range=(1, MOST_IDLE_HOURS)),
            ),
            models.CheckConstraint(
                name="own_sign_in_at_a_sensible_age",
                condition=Q(own_sign_in_from__range=(YOUNGEST_OF_ALL, GROWN_UP)),
            ),
        ]

    def __str__(self) -> str:
        return f"a coach looks back {self.history_days} days"
