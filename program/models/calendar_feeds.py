import datetime as dt
import hashlib
import uuid
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models

from athletes.models import Child
from library.shared.sealing import seal, unsealed

if TYPE_CHECKING:
    from athletes.models import User


def _digest(key: uuid.UUID) -> str:
    return hashlib.sha256(str(key).encode()).hexdigest()


def _purpose(guardian_id: int) -> str:
    return f"program.calendar_feed:{guardian_id}"


class CalendarFeedQuerySet(models.QuerySet["CalendarFeed"]):
    def with_key(self, key: uuid.UUID) -> "CalendarFeedQuerySet":
        return self.filter(key_digest=_digest(key))

    def give(self, guardian: "User", key: uuid.UUID, now: dt.datetime) -> "CalendarFeed":
        """The one before, if there was one, is gone."""
        sealed = seal(key.bytes, _purpose(guardian.pk))
        said = {"key_digest": _digest(key), "sealed_key": sealed, "made_at": now}
        return self.update_or_create(guardian=guardian, defaults=said)[0]


class CalendarFeed(models.Model):
    """A guardian's private calendar address. Whoever has the key may read the feed, so it can be
    changed or taken back at any time.

    It is found by its digest, and sealed so that its page can show it again: a family puts it into
    a second phone months later, and a new one would silently end the calendar in the first. Who has
    the database without SECRET_KEY reads no key.
    """

    guardian = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="calendar_feed"
    )
    key_digest = models.CharField(max_length=64, unique=True)
    sealed_key = models.BinaryField()
    made_at = models.DateTimeField()

    objects = CalendarFeedQuerySet.as_manager()

    def __str__(self) -> str:
        return f"the calendar of {self.guardian}"

    @property
    def key(self) -> uuid.UUID | None:
        """None where it was sealed under a SECRET_KEY that is no longer known."""
        key = unsealed(bytes(self.sealed_key), _purpose(self.guardian_id))
        return uuid.UUID(bytes=key) if key else None


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
