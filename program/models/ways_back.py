import datetime as dt
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.db import models
from django.db.models import F, OuterRef, Q, Subquery
from django.utils import timezone
from django.utils.text import capfirst

from athletes.models import Child
from athletes.models.circumstances import REGION_CHOICES, SIDE_CHOICES
from library.body import Region, Side, place_in_words
from program.engine.fit.limits import ComingBack, ReturnStep
from program.models.pain import PainReport

if TYPE_CHECKING:
    from athletes.models import User

STEP_CHOICES: Final = [(step.value, step.label) for step in ReturnStep]


class WayBackStepQuerySet(models.QuerySet["WayBackStep"]):
    def visible_to(self, user: "User") -> "WayBackStepQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def current(self) -> "WayBackStepQuerySet":
        """The one that each place is on, if it is on its way back; and lighter weeks."""
        return self.filter(ended_on__isnull=True)

    def with_last_pain(self) -> "WayBackStepQuerySet":
        """With `last_pain_at`, when the place was last reported, if ever."""
        reports = PainReport.objects.standing().filter(
            child=OuterRef("child"), region=OuterRef("region"), symptom=""
        )
        newest = reports.order_by("-reported_at").values("reported_at")[:1]
        return self.annotate(last_pain_at=Subquery(newest))


class WayBackStep(models.Model):
    """One step of a child's way back, from a day until the next step is taken.

    Without a region it is the lighter week after time away, which ends by itself after `until`.
    """

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="way_back_steps")
    region = models.CharField(
        max_length=12, choices=REGION_CHOICES, blank=True, help_text="empty for the whole body"
    )
    side = models.CharField(max_length=5, choices=SIDE_CHOICES, default=Side.BOTH.value)
    step = models.CharField(max_length=9, choices=STEP_CHOICES)
    since = models.DateField()
    until = models.DateField(null=True, blank=True, help_text="the last day of a lighter week")
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    set_at = models.DateTimeField(auto_now_add=True)
    ended_on = models.DateField(null=True, blank=True, help_text="the first day without it")
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = WayBackStepQuerySet.as_manager()

    class Meta:
        ordering = ["since", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_step_of_the_way_back_at_a_time",
                fields=["child", "region", "side"],
                condition=Q(ended_on__isnull=True),
            ),
            models.CheckConstraint(
                name="way_back_of_a_place_or_a_lighter_week",
                condition=Q(
                    region__in=[region.value for region in Region],
                    step__in=[step.value for step in ReturnStep if step is not ReturnStep.LIGHTER],
                    until__isnull=True,
                )
                | Q(
                    region="",
                    side=Side.BOTH.value,
                    step=ReturnStep.LIGHTER.value,
                    until__isnull=False,
                    until__gte=F("since"),
                ),
            ),
            models.CheckConstraint(
                name="way_back_side_is_known",
                condition=Q(side__in=[side.value for side in Side]),
            ),
            models.CheckConstraint(
                name="way_back_step_ends_after_it_begins",
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=F("since")),
            ),
        ]

    def __str__(self) -> str:
        return f"{capfirst(self.where)}: {self.get_step_display()}"

    @property
    def where(self) -> str:
        """ "left knee", or "whole body"."""
        if not self.region:
            return "whole body"
        return place_in_words(Region(self.region), Side(self.side))

    @property
    def coming_back(self) -> ComingBack:
        """As fit sees it."""
        region = Region(self.region) if self.region else None
        return ComingBack(region, ReturnStep(self.step), Side(self.side))

    @property
    def last_pain_on(self) -> dt.date | None:
        """When the place was last reported, if ever; comes `with_last_pain`."""
        at: dt.datetime | None = getattr(self, "last_pain_at", None)
        return timezone.localtime(at).date() if at else None

    def is_in_force(self, day: dt.date) -> bool:
        goes_on = self.ended_on is None or self.ended_on > day
        return goes_on and self.since <= day and (self.until is None or day <= self.until)
