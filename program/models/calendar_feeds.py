import uuid
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models

from athletes.models import Child

if TYPE_CHECKING:
    from athletes.models import User


class CalendarFeed(models.Model):
    """A guardian's private calendar address. Whoever has the key may read the feed, so it can be
    changed or taken back at any time."""

    guardian = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_feed"
    )
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"the calendar of {self.guardian}"


class TakenOutSessionQuerySet(models.QuerySet["TakenOutSession"]):
    def visible_to(self, user: "User") -> "TakenOutSessionQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))


class TakenOutSession(models.Model):
    """A session that a calendar may still show: it was published and then taken out."""

    public_id = models.UUIDField(unique=True)
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=80)
    date = models.DateField()
    taken_out_at = models.DateTimeField()

    objects = TakenOutSessionQuerySet.as_manager()

    class Meta:
        ordering = ["date"]

    def __str__(self) -> str:
        return self.name
