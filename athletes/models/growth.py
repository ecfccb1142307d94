import datetime as dt
from decimal import Decimal
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Count, F, Q, Sum

from athletes import growth
from athletes.models.children import Child
from athletes.models.consents import DELETED_AFTER, ConsentPurpose, agreed_to, refused_before

if TYPE_CHECKING:
    from athletes.models.users import User


APART_AT_MOST = Decimal(growth.APART_AT_MOST)


class GrowthMeasurementQuerySet(models.QuerySet["GrowthMeasurement"]):
    def visible_to(self, user: "User") -> "GrowthMeasurementQuerySet":
        """A coach of the child, and whoever decides for it, while it is agreed to; nobody else."""
        agreed = self.filter(agreed_to(ConsentPurpose.MEASUREMENTS, child="child"))
        if user.is_active and user.is_coach:
            return agreed.filter(child__in=Child.objects.visible_to(user))
        return agreed.filter(child__in=Child.objects.decided_by(user))

    def tape_error(self) -> growth.TapeError:
        """How far one reading is off, from the heights read twice while that is agreed to."""
        apart = F("height_again") - F("height")
        twice = self.filter(
            agreed_to(ConsentPurpose.MEASUREMENTS, child="child"), height_again__isnull=False
        ).order_by()
        told = twice.aggregate(squares=Sum(apart * apart), repeats=Count("pk"))
        return growth.tape_error(float(told["squares"] or 0), told["repeats"])

    def refused(self, now: dt.datetime) -> "GrowthMeasurementQuerySet":
        """Those to be deleted, since it was said long enough ago that nothing is to be measured."""
        return self.filter(
            refused_before(now - DELETED_AFTER, ConsentPurpose.MEASUREMENTS, "child")
        )


class GrowthMeasurement(models.Model):
    """What a tape said on a day, and who read it."""

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="growth_measurements")
    on = models.DateField()
    height = models.DecimalField(max_digits=4, decimal_places=1, help_text="cm, standing")
    height_again = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text="cm, read a second time"
    )
    sitting = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text="cm, from the seat"
    )
    mass = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        null=True,
        blank=True,
        help_text="kg; only for the published equation that needs it, and never shown",
    )
    measured_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = GrowthMeasurementQuerySet.as_manager()

    class Meta:
        ordering = ["child", "on"]
        constraints = [
            models.UniqueConstraint(
                name="measured_once_a_day",
                fields=["child", "on"],
                violation_error_message="There is a measurement of this day already.",
            ),
            models.CheckConstraint(
                name="height_is_a_childs",
                condition=Q(height__range=tuple(map(Decimal, growth.TALL))),
            ),
            models.CheckConstraint(
                name="two_readings_of_a_height_are_of_one_child",
                condition=Q(height_again__isnull=True)
                | Q(height_again__range=(F("height") - APART_AT_MOST, F("height") + APART_AT_MOST)),
            ),
            models.CheckConstraint(
                name="nobody_sits_taller_than_they_stand",
                condition=Q(sitting__isnull=True)
                | Q(sitting__range=tuple(map(Decimal, growth.SITTING)), sitting__lt=F("height")),
            ),
            models.CheckConstraint(
                name="mass_is_a_childs",
                condition=Q(mass__isnull=True) | Q(mass__range=tuple(map(Decimal, growth.MASS))),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.height} cm on {self.on}"

    @property
    def measured(self) -> growth.Measurement:
        return growth.Measurement(
            self.on,
            float(self.height),
            *(
                None if each is None else float(each)
                for each in (self.sitting, self.mass, self.height_again)
            ),
        )


def decimal_age(child: Child, on: dt.date) -> float:
    """In years, as the published equations take it."""
    return (on - child.birth_date).days / growth.YEAR
