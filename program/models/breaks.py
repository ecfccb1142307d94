import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from athletes.models import Cohort
from program.engine.breaks import covers
from program.engine.weeks import A_WEEK, MOST_WEEKS
from program.models.blocks import Block

if TYPE_CHECKING:
    from athletes.models import User


class BreakQuerySet(models.QuerySet["Break"]):
    def visible_to(self, user: "User") -> "BreakQuerySet":
        """The whole program's, and those of the user's cohorts."""
        mine = Q(cohort__isnull=True) | Q(cohort__in=Cohort.objects.visible_to(user))
        return self.filter(mine) if user.is_coach else self.none()

    def kept_by(self, user: "User") -> "BreakQuerySet":
        """Those the user may remove: their cohorts', and a head coach the whole program's."""
        seen = self.visible_to(user)
        return seen if user.is_head_coach else seen.exclude(cohort__isnull=True)

    def meant_for(self, cohort: int) -> "BreakQuerySet":
        """Those of this cohort, by key, and the whole program's."""
        return self.filter(Q(cohort__isnull=True) | Q(cohort=cohort))

    def touching(self, block: Block) -> "BreakQuerySet":
        """Those that hold a day of the block and are meant for its cohort."""
        return self.meant_for(block.cohort_id).filter(
            first__lte=block.ends_on, last__gte=block.starts_on
        )

    def cohorts_away(self, cohorts: Iterable[Cohort], first: dt.date, last: dt.date) -> set[int]:
        """Those of these cohorts, by key, that are away on every one of these days. One query."""
        spans: dict[int | None, list[tuple[dt.date, dt.date]]] = defaultdict(list)
        for cohort, begins, ends in self.filter(first__lte=last, last__gte=first).values_list(
            "cohort", "first", "last"
        ):
            spans[cohort].append((begins, ends))
        keys = (cohort.pk for cohort in cohorts)
        return {key for key in keys if covers([*spans[None], *spans[key]], first, last)}


class Break(models.Model):
    """School holidays or days away, first to last day included; of one cohort, or of everybody."""

    cohort = models.ForeignKey(
        Cohort, on_delete=models.CASCADE, null=True, blank=True, related_name="breaks"
    )
    name = models.CharField(max_length=80)
    first = models.DateField()
    last = models.DateField()
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = BreakQuerySet.as_manager()

    class Meta:
        ordering = ["first", "last", "pk"]
        constraints = [
            models.CheckConstraint(name="break_has_a_name", condition=~Q(name="")),
            models.CheckConstraint(
                name="break_ends_no_earlier_than_it_starts",
                condition=Q(last__gte=F("first")),
                violation_error_message="A break cannot end before it starts.",
            ),
            models.CheckConstraint(
                name="break_lasts_at_most_26_weeks",
                condition=Q(last__lte=F("first") + MOST_WEEKS * A_WEEK),
                violation_error_message=f"A break lasts at most {MOST_WEEKS} weeks.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def holds(self, day: dt.date) -> bool:
        return self.first <= day <= self.last
