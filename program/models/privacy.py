import datetime as dt
import uuid
from typing import TYPE_CHECKING, Final, Self

from django.conf import settings
from django.db import models
from django.db.models import Q

from athletes.models import Child
from athletes.models.two_people import A_SECOND_LOOK, a_second_person_or_a_day

if TYPE_CHECKING:
    from athletes.models import User

COPY_HOLDS: Final = dt.timedelta(days=7)


class ChildCopyQuerySet(models.QuerySet["ChildCopy"]):
    def visible_to(self, user: "User") -> Self:
        """Whoever asked for it, as long as the child is still theirs to see."""
        return self.filter(asked_by=user, child__in=Child.objects.visible_to(user))

    def waiting(self) -> Self:
        return self.filter(ready_at__isnull=True)

    def to_fetch(self, now: dt.datetime) -> Self:
        return self.filter(ready_at__gt=now - COPY_HOLDS, fetched_at__isnull=True)

    def over(self, now: dt.datetime) -> Self:
        """Fetched, or not fetched in time."""
        return self.filter(Q(fetched_at__isnull=False) | Q(ready_at__lte=now - COPY_HOLDS))


class ChildCopy(models.Model):
    """A copy of everything about one child, made for one person, who fetches it once. Its file is
    `program.privacy.copies`' to keep."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="+")
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+"
    )
    asked_at = models.DateTimeField()
    ready_at = models.DateTimeField(null=True)
    fetched_at = models.DateTimeField(null=True)

    objects = ChildCopyQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_copy_at_a_time",
                fields=["child", "asked_by"],
                condition=Q(ready_at__isnull=True),
            ),
            models.CheckConstraint(
                name="a_copy_is_fetched_once_it_is_ready",
                condition=Q(fetched_at__isnull=True) | Q(ready_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return "ready" if self.ready_at else "being made"


class ErasureQuerySet(models.QuerySet["Erasure"]):
    def visible_to(self, user: "User") -> Self:
        """Head coaches decide; whoever decides for the child reads it, and may take back having
        asked."""
        if not user.is_active:
            return self.none()
        if user.is_head_coach:
            return self
        return self.filter(child__in=Child.objects.decided_by(user))

    def open(self) -> Self:
        """Asked for, and neither decided nor done."""
        return self.filter(done_at__isnull=True, confirmed_at__isnull=True, ended_at__isnull=True)

    def to_do(self) -> Self:
        return self.filter(confirmed_at__isnull=False, done_at__isnull=True)


class Erasure(models.Model):
    """That everything about a child is to be erased: asked for, confirmed by a head coach, done.

    Once done, the row says that something was erased, when and by whom, and no longer of whom.
    """

    class Why(models.TextChoices):
        ASKED = "asked", "the family asked"
        PROGRAM = "program", "the program decided"
        TIME = "time", "the time for which the program keeps a child is over"

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    child = models.ForeignKey(Child, on_delete=models.SET_NULL, null=True, related_name="erasures")
    why = models.CharField(max_length=7, choices=Why)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    asked_at = models.DateTimeField()
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    confirmed_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True)
    ended_because = models.CharField(max_length=300, blank=True)
    done_at = models.DateTimeField(null=True)
    counts = models.JSONField(default=dict, help_text="how many rows of what were erased")

    objects = ErasureQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_open_erasure_of_a_child",
                fields=["child"],
                condition=Q(done_at__isnull=True, ended_at__isnull=True),
            ),
            models.CheckConstraint(
                name="erasing_takes_a_second_person_or_a_day",
                condition=a_second_person_or_a_day(
                    "asked_by", "asked_at", "confirmed_by", "confirmed_at"
                ),
            ),
            models.CheckConstraint(
                name="erased_once_confirmed_and_not_ended",
                condition=Q(done_at__isnull=True)
                | Q(confirmed_at__isnull=False, ended_at__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return self.get_why_display()

    def may_be_confirmed_by(self, user: "User", now: dt.datetime) -> bool:
        """A head coach who did not ask, or did so a day ago."""
        is_second = self.asked_by_id != user.pk or now >= self.asked_at + A_SECOND_LOOK
        return user.is_head_coach and is_second
