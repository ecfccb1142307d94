import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.conf import settings
from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateRangeField, RangeBoundary, RangeOperators
from django.db import models
from django.db.models import F, Func, Q
from django.utils.text import capfirst

from athletes.models.children import Child
from library.body import Region, RestrictionKind, Side, place_in_words

if TYPE_CHECKING:
    from athletes.models.users import User

REGION_CHOICES = [(region.value, region.label) for region in Region]
SIDE_CHOICES = [(side.value, side.label) for side in Side]
KIND_CHOICES = [(kind.value, kind.label) for kind in RestrictionKind]


class HomeKitQuerySet(models.QuerySet["HomeKit"]):
    def visible_to(self, user: "User") -> "HomeKitQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def with_items(self) -> "HomeKitQuerySet":
        return self.select_related("answered_by").prefetch_related("items")


class HomeKit(models.Model):
    """What a family has said is at home. No row means that nobody has answered yet."""

    child = models.OneToOneField(Child, on_delete=models.CASCADE, related_name="home_kit")
    items = models.ManyToManyField("library.Item", related_name="+", blank=True)
    answered_at = models.DateTimeField(auto_now=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = HomeKitQuerySet.as_manager()

    def __str__(self) -> str:
        return f"what is at home for {self.child}"

    @property
    def mark(self) -> str:
        """Another one after any answer."""
        return self.answered_at.isoformat()


class RestrictionQuerySet(models.QuerySet["Restriction"]):
    def visible_to(self, user: "User") -> "RestrictionQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def in_force(self, day: dt.date) -> "RestrictionQuerySet":
        held = Q(lifted_on__isnull=True) | Q(lifted_on__gt=day)
        return self.filter(held, start__lte=day, until__gte=day)

    def open_on(self, day: dt.date) -> "RestrictionQuerySet":
        """In force on that day or still to come."""
        return self.filter(lifted_on__isnull=True, until__gte=day)

    def unanswered(self, day: dt.date) -> "RestrictionQuerySet":
        """Over by themselves, and nobody has said since that it is fine again."""
        return self.filter(lifted_on__isnull=True, until__lt=day)

    def with_people(self) -> "RestrictionQuerySet":
        return self.select_related("set_by", "lifted_by")


class Restriction(models.Model):
    """A dated rule about a body region. It expires by itself after its last day.

    Somebody may say earlier, or afterwards, that it is fine again: `lifted_on` is the first day
    without it. Until then a restriction that is over is a question to the coach. Without a region
    it is about the whole body: the child rests.
    """

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="restrictions")
    region = models.CharField(
        max_length=12, choices=REGION_CHOICES, blank=True, help_text="empty for the whole body"
    )
    side = models.CharField(max_length=5, choices=SIDE_CHOICES, default="both")
    kind = models.CharField(max_length=10, choices=KIND_CHOICES)
    start = models.DateField()
    until = models.DateField(help_text="the last day it holds")
    without = models.ManyToManyField(
        "library.Exercise",
        related_name="+",
        blank=True,
        help_text="exercises left out by name, because they hurt",
    )
    note = models.CharField(max_length=200, blank=True)
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    set_at = models.DateTimeField(auto_now_add=True)
    lifted_on = models.DateField(null=True, blank=True)
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = RestrictionQuerySet.as_manager()

    class Meta:
        ordering = ["-until", "id"]
        constraints = [
            models.CheckConstraint(
                name="restriction_ends_after_it_starts",
                condition=Q(until__gte=F("start")),
                violation_error_message="A restriction cannot end before it starts.",
            ),
            models.CheckConstraint(
                name="restriction_region_is_known",
                condition=Q(region__in=[region.value for region in Region])
                | Q(region="", side=Side.BOTH.value, kind=RestrictionKind.NOTHING.value),
            ),
            models.CheckConstraint(
                name="restriction_side_is_known",
                condition=Q(side__in=[side.value for side in Side]),
            ),
            models.CheckConstraint(
                name="restriction_kind_is_known",
                condition=Q(kind__in=[kind.value for kind in RestrictionKind]),
            ),
            ExclusionConstraint(
                name="restricted_once_at_a_time",
                expressions=[
                    ("child", RangeOperators.EQUAL),
                    ("region", RangeOperators.EQUAL),
                    ("side", RangeOperators.EQUAL),
                    ("kind", RangeOperators.EQUAL),
                    (
                        Func(
                            F("start"),
                            F("until"),
                            RangeBoundary(inclusive_lower=True, inclusive_upper=True),
                            function="DATERANGE",
                            output_field=DateRangeField(),
                        ),
                        RangeOperators.OVERLAPS,
                    ),
                ],
                condition=Q(lifted_on__isnull=True),
                violation_error_message="This is already set on those days.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rule} until {self.until}"

    @property
    def where(self) -> str:
        """The region as it is spoken of: "left knee", or just "knee" for both."""
        if not self.region:
            return "whole body"
        return place_in_words(Region(self.region), Side(self.side))

    @property
    def rule(self) -> str:
        """What is spared, as it begins a sentence: "Left knee: no landing"."""
        return f"{capfirst(self.where)}: {self.get_kind_display()}"

    def is_in_force(self, day: dt.date) -> bool:
        held = self.lifted_on is None or self.lifted_on > day
        return held and self.start <= day <= self.until


@dataclass(frozen=True)
class RestrictionsOn:
    """A child's restrictions as they stand on a day."""

    rows: Sequence[Restriction]
    day: dt.date

    @property
    def in_force(self) -> list[Restriction]:
        return [each for each in self.rows if each.is_in_force(self.day)]

    @property
    def to_come(self) -> list[Restriction]:
        return [each for each in self.rows if each.start > self.day and not each.lifted_on]

    @property
    def over(self) -> list[Restriction]:
        """Those that ended by themselves, and nobody has said since that it is fine again."""
        return [each for each in self.rows if each.until < self.day and not each.lifted_on]


class PlacementQuerySet(models.QuerySet["Placement"]):
    def visible_to(self, user: "User") -> "PlacementQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def current(self) -> "PlacementQuerySet":
        return self.filter(ended_at__isnull=True)

    def on_landing(self) -> "PlacementQuerySet":
        """Those that say that a child may land: somebody has seen it land."""
        return self.filter(pathway__pattern="land", is_seen=True)

    def not_seen(self) -> "PlacementQuerySet":
        """Where a child was put with its group, and no coach has seen it do that well."""
        return self.filter(is_seen=False)

    def with_names(self) -> "PlacementQuerySet":
        """With all that is needed to say where a child stands, since when and who said so."""
        return self.select_related("pathway", "exercise__current", "placed_by")


class Placement(models.Model):
    """The exercise on a pathway that a child works on from one moment to the next placement."""

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="placements")
    pathway = models.ForeignKey("library.Pathway", on_delete=models.PROTECT, related_name="+")
    exercise = models.ForeignKey("library.Exercise", on_delete=models.PROTECT, related_name="+")
    placed_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    placed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    is_seen = models.BooleanField(
        default=True,
        db_default=True,
        help_text="by the coach who placed it; where a group starts nobody has seen anybody yet, "
        "and for landing and for anything harder that is no placement",
    )
    why = models.CharField(max_length=200, blank=True)

    objects = PlacementQuerySet.as_manager()

    class Meta:
        ordering = ["child", "pathway", "-placed_at"]
        constraints = [
            models.UniqueConstraint(
                name="one_current_placement_per_pathway",
                fields=["child", "pathway"],
                condition=Q(ended_at__isnull=True),
            ),
            models.CheckConstraint(
                name="placement_ends_after_it_begins",
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("placed_at")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.child} on {self.pathway}: {self.exercise}"
