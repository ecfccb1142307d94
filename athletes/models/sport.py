"""What a family says of a child's sport outside the program."""

from typing import TYPE_CHECKING, Any

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from athletes.models.children import Child

if TYPE_CHECKING:
    from athletes.models.users import User

MOST_HOURS = 40
WEEKDAYS = range(1, 8)
"""From 1 for Monday, as ISO 8601 counts them."""


def _days(help_text: str) -> "ArrayField[Any, Any]":
    return ArrayField(
        models.PositiveSmallIntegerField(), default=list, blank=True, help_text=help_text
    )


class SportElsewhereQuerySet(models.QuerySet["SportElsewhere"]):
    def visible_to(self, user: "User") -> "SportElsewhereQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))


class SportElsewhere(models.Model):
    """What a child's usual week of sport outside the program is, from a week on, until something
    else is said. No row means that nobody has said; no hours, that there is none."""

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="sport_elsewhere")
    since = models.DateField(help_text="the Monday of the week from which it holds")
    hours = models.DecimalField(max_digits=3, decimal_places=1, help_text="a week, of all together")
    school = _days("weekdays with teams and clubs of a school; its lessons are left out")
    club = _days("weekdays with training in a club")
    matches = _days("weekdays with matches or competitions")
    said_at = models.DateTimeField()
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = SportElsewhereQuerySet.as_manager()

    class Meta:
        ordering = ["child", "since"]
        constraints = [
            models.UniqueConstraint(name="sport_said_once_a_week", fields=["child", "since"]),
            models.CheckConstraint(
                name="sport_holds_from_a_monday", condition=Q(since__iso_week_day=1)
            ),
            models.CheckConstraint(
                name="sport_hours_are_sensible",
                condition=Q(hours__range=(0, MOST_HOURS)),
                violation_error_message=f"Write a number of hours from 0 to {MOST_HOURS}.",
            ),
            models.CheckConstraint(
                name="sport_days_are_weekdays",
                condition=Q(
                    school__contained_by=[*WEEKDAYS],
                    club__contained_by=[*WEEKDAYS],
                    matches__contained_by=[*WEEKDAYS],
                ),
            ),
            models.CheckConstraint(
                name="sport_hours_have_days",
                condition=Q(hours=0, school=[], club=[], matches=[])
                | Q(hours__gt=0) & ~Q(school=[], club=[], matches=[]),
                violation_error_message="Hours want days, and days want hours.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.child}’s sport outside the program since {self.since}"

    @property
    def days(self) -> set[int]:
        """The weekdays with any sport."""
        return {*self.school, *self.club, *self.matches}


class DifferentWeekQuerySet(models.QuerySet["DifferentWeek"]):
    def visible_to(self, user: "User") -> "DifferentWeekQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))


class DifferentWeek(models.Model):
    """A week in which a child does more, less or no sport outside the program. How much more or
    less nobody is asked."""

    class How(models.TextChoices):
        NOTHING = "nothing", "none"
        LESS = "less", "less than usual"
        MORE = "more", "more than usual"

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="different_weeks")
    week = models.DateField(help_text="its Monday")
    how = models.CharField(max_length=7, choices=How)
    said_at = models.DateTimeField()
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = DifferentWeekQuerySet.as_manager()

    class Meta:
        ordering = ["child", "week"]
        constraints = [
            models.UniqueConstraint(name="a_week_differs_once", fields=["child", "week"]),
            models.CheckConstraint(
                name="a_different_week_begins_on_monday", condition=Q(week__iso_week_day=1)
            ),
            models.CheckConstraint(
                name="how_a_week_differs_is_known",
                condition=Q(how__in=["nothing", "less", "more"]),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_how_display()} in the week of {self.week}"
