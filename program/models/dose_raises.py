from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Q

from athletes.models import Child, Placement

if TYPE_CHECKING:
    from athletes.models import User


class DoseRaiseQuerySet(models.QuerySet["DoseRaise"]):
    def visible_to(self, user: "User") -> "DoseRaiseQuerySet":
        return self.filter(placement__child__in=Child.objects.visible_to(user))


class DoseRaise(models.Model):
    """How much more than written a child does of the exercise it is placed on.

    It hangs on the placement, so it survives publishing again, keeps a lighter week lighter, and
    goes when the child moves to another exercise.
    """

    placement = models.OneToOneField(Placement, on_delete=models.CASCADE, related_name="dose_raise")
    amount = models.PositiveSmallIntegerField(help_text="more than written, in its measure")
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    set_at = models.DateTimeField(help_text="what was logged before says nothing about it")

    objects = DoseRaiseQuerySet.as_manager()

    class Meta:
        ordering = ["placement"]
        constraints = [
            models.CheckConstraint(
                name="dose_raised_by_1_to_600", condition=Q(amount__range=(1, 600))
            )
        ]

    def __str__(self) -> str:
        return f"{self.amount} more"
