from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models

from athletes.models import Child
from athletes.signals import Circumstance

if TYPE_CHECKING:
    from athletes.models import User


class RefitQuerySet(models.QuerySet["Refit"]):
    def visible_to(self, user: "User") -> "RefitQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def unseen(self) -> "RefitQuerySet":
        return self.filter(seen_at__isnull=True)


class Refit(models.Model):
    """A child's circumstances changed, and what that did to the sessions not yet started."""

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="refits")
    what = models.CharField(
        max_length=11, choices=[(each.value, each.value) for each in Circumstance]
    )
    at = models.DateTimeField()
    changed = models.PositiveSmallIntegerField(help_text="sessions that the child now gets anew")
    waiting = models.PositiveSmallIntegerField(help_text="sessions that wait for the coach")
    withdrawn = models.PositiveSmallIntegerField(help_text="sessions taken back")
    seen_at = models.DateTimeField(null=True, blank=True)
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = RefitQuerySet.as_manager()

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"{self.what} of {self.child}"
