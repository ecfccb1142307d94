from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import F, Q

if TYPE_CHECKING:
    from athletes.models.users import User


class CohortQuerySet(models.QuerySet["Cohort"]):
    def visible_to(self, user: "User") -> "CohortQuerySet":
        """The head coach sees every cohort, a coach their own, nobody else any."""
        if not user.is_active or not user.is_coach:
            return self.none()
        return self if user.is_head_coach else self.filter(coaches=user)


class Cohort(models.Model):
    """Children who train together, by age and training age."""

    name = models.CharField(max_length=60, unique=True)
    youngest = models.PositiveSmallIntegerField(help_text="age in years")
    oldest = models.PositiveSmallIntegerField(help_text="age in years")
    coaches = models.ManyToManyField(settings.AUTH_USER_MODEL, related_name="cohorts", blank=True)
    venue_items = models.ManyToManyField(
        "library.Item", related_name="+", blank=True, help_text="what is at hand at the venue"
    )

    objects = CohortQuerySet.as_manager()

    class Meta:
        ordering = ["youngest", "name"]
        constraints = [
            models.CheckConstraint(
                name="cohort_ages_in_order",
                condition=Q(youngest__gte=4, youngest__lte=F("oldest"), oldest__lte=21),
                violation_error_message="Ages run from 4 to 21, the youngest first.",
            )
        ]

    def __str__(self) -> str:
        return self.name
