import datetime as dt
from typing import TYPE_CHECKING

from django.db import models
from django.db.models import F, Q

from athletes.models import Cohort
from program.engine.weeks import A_WEEK, MOST_WEEKS
from program.models.pauses import Pauses

if TYPE_CHECKING:
    from athletes.models import User


class BlockQuerySet(models.QuerySet["Block"]):
    def visible_to(self, user: "User") -> "BlockQuerySet":
        return self.filter(cohort__in=Cohort.objects.visible_to(user))


class Block(Pauses):
    """Some weeks of sessions for one cohort, first to last day included."""

    cohort = models.ForeignKey(Cohort, on_delete=models.PROTECT, related_name="blocks")
    name = models.CharField(max_length=80)
    aim = models.CharField(max_length=200, blank=True)
    starts_on = models.DateField()
    ends_on = models.DateField()
    form_key = models.UUIDField(
        null=True,
        unique=True,
        editable=False,
        help_text="of the form that made it, which makes one block however often it is sent",
    )

    objects = BlockQuerySet.as_manager()

    class Meta:
        ordering = ["-starts_on", "name"]
        constraints = [
            *Pauses.Meta.constraints,
            models.CheckConstraint(
                name="block_ends_after_it_starts",
                condition=Q(ends_on__gt=F("starts_on")),
                violation_error_message="A block cannot end before it starts.",
            ),
            models.CheckConstraint(
                name="block_lasts_at_most_26_weeks",
                condition=Q(ends_on__lte=F("starts_on") + MOST_WEEKS * A_WEEK),
                violation_error_message=f"A block lasts at most {MOST_WEEKS} weeks.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def weeks(self) -> int:
        """Calendar weeks touched, counted from the starting day."""
        return (self.ends_on - self.starts_on) // A_WEEK + 1

    def holds(self, day: dt.date) -> bool:
        return self.starts_on <= day <= self.ends_on

    def week_of(self, day: dt.date) -> int:
        """1 for the block's first week; outside the block, the number goes on below and above."""
        return (day - self.starts_on) // A_WEEK + 1

    def week_starts(self, number: int) -> dt.date:
        """The first day of the block's week of this number; the inverse of `week_of`."""
        return self.starts_on + (number - 1) * A_WEEK
