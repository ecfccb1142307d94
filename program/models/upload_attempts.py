import datetime as dt
from typing import Final

from django.conf import settings
from django.db import models, transaction

from athletes.models import User

A_DAY: Final = dt.timedelta(days=1)
MOST_A_DAY: Final = 10
"""Photos and clips of one person, taken or not: reading a broken one costs as much."""


class UploadAttemptQuerySet(models.QuerySet["UploadAttempt"]):
    @transaction.atomic
    def begin(self, by: User, now: dt.datetime) -> bool:
        """Count one more before it is read; False where there were too many in the last day. Many
        at once are counted one after the other."""
        User.objects.select_for_update(no_key=True).get(pk=by.pk)
        if self.filter(by=by, at__gte=now - A_DAY).count() >= MOST_A_DAY:
            return False
        self.create(by=by, at=now)
        return True


class UploadAttempt(models.Model):
    """A photo or clip that somebody sent with a question, whatever became of it."""

    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField()

    objects = UploadAttemptQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["by", "at"], name="attempts_of_a_person")]

    def __str__(self) -> str:
        return f"an upload by {self.by}"
