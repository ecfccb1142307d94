import datetime as dt
import uuid
from typing import TYPE_CHECKING, Final, Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from athletes.models.two_people import A_SECOND_LOOK, a_second_person_or_a_day
from library.shared.one_row import OneRowQuerySet

if TYPE_CHECKING:
    from athletes.models import User

ENOUGH_OFFICERS: Final = 2
"""Below it nothing is taken in: one person may be away, or be whom it is about."""
LONGEST_TEXT: Final = 4000


class WelfareOfficerQuerySet(models.QuerySet["WelfareOfficer"]):
    def standing(self) -> Self:
        """Named, and in force or waiting for a second head coach."""
        return self.filter(ended_at__isnull=True)

    def in_force(self) -> Self:
        """Those who read what is reported. The database asks the same (`acting_is_officer`)."""
        return self.standing().filter(in_force_since__isnull=False, person__is_active=True)

    def are_enough(self) -> bool:
        return self.in_force().count() >= ENOUGH_OFFICERS


class WelfareOfficer(models.Model):
    """That somebody with an account is a welfare officer, beside whatever else they are here."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="welfare_offices"
    )
    named_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    named_at = models.DateTimeField()
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    in_force_since = models.DateTimeField(null=True)
    ending_asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    ending_asked_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True)

    objects = WelfareOfficerQuerySet.as_manager()

    class Meta:
        ordering = ["named_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="an_officer_is_named_once",
                fields=["person"],
                condition=Q(ended_at__isnull=True),
            ),
            models.CheckConstraint(
                name="naming_an_officer_takes_a_second_person_or_a_day",
                condition=a_second_person_or_a_day(
                    "named_by", "named_at", "confirmed_by", "in_force_since"
                ),
            ),
            models.CheckConstraint(
                name="no_officer_is_agreed_to_by_themself_at_once",
                condition=Q(confirmed_by__isnull=True)
                | ~Q(confirmed_by=F("person"))
                | Q(in_force_since__gte=F("named_at") + A_SECOND_LOOK),
            ),
            models.CheckConstraint(
                name="taking_an_officer_off_takes_a_second_person_or_a_day",
                condition=a_second_person_or_a_day(
                    "ending_asked_by", "ending_asked_at", "ended_by", "ended_at"
                ),
            ),
        ]

    def __str__(self) -> str:
        return str(self.person)

    @property
    def is_asked_about(self) -> bool:
        """Whether naming them, or taking them off, waits for a second head coach."""
        return self.in_force_since is None or self.ending_asked_at is not None

    @property
    def asked_by_id(self) -> int | None:
        """Who asked for what waits."""
        return self.named_by_id if self.in_force_since is None else self.ending_asked_by_id

    def waits_for(self, user: "User", now: dt.datetime) -> bool:
        """Whether what waits may be this head coach's to agree to."""
        if user.pk == self.asked_by_id:
            return self.is_asked_about and now >= self.holds_alone_at
        return self.is_asked_about and user.pk != self.person_id

    @property
    def holds_alone_at(self) -> dt.datetime:
        """From when on what waits holds where there is no second head coach."""
        asked_at = self.named_at if self.in_force_since is None else self.ending_asked_at
        return (asked_at or self.named_at) + A_SECOND_LOOK


class WelfareWords(models.Model):
    """Whom a program has people ring: one row, or none while it has said nothing."""

    whom_to_ring = models.CharField(
        "Whom to ring",
        max_length=600,
        blank=True,
        help_text="names and numbers, as families read them; also somebody outside the program",
    )
    emergency_number = models.CharField(
        "Emergency number where you are", max_length=20, blank=True, help_text="such as 112 or 999"
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(null=True)

    objects = OneRowQuerySet["WelfareWords"].as_manager()

    class Meta:
        verbose_name_plural = "welfare words"
        constraints = [models.CheckConstraint(name="one_row_of_welfare_words", condition=Q(pk=1))]

    def __str__(self) -> str:
        return self.whom_to_ring


def _is_officer(user: "User") -> bool:
    return WelfareOfficer.objects.in_force().filter(person=user).exists()


class ConcernQuerySet(models.QuerySet["Concern"]):
    def visible_to(self, user: "User") -> Self:
        """The officers, but for one whom it is kept from, and whoever reported it by name. No
        coach and no head coach beyond that."""
        if not user.is_active:
            return self.none()
        mine = self.filter(by=user)
        return self.read_by_officer(user) | mine if _is_officer(user) else mine

    def read_by_officer(self, user: "User") -> Self:
        """What somebody reads as an officer; nothing for whoever is none."""
        if not _is_officer(user):
            return self.none()
        return self.filter(Q(kept_from__isnull=True) | ~Q(kept_from=user)).exclude(by=user)


class Concern(models.Model):
    """What somebody told the welfare officers. It leads to no child: whom it is about stands in
    words, so that erasing a child does not destroy what was said for its sake."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    about = models.CharField(max_length=120, blank=True)
    text = models.TextField(max_length=LONGEST_TEXT)
    happened = models.CharField(max_length=120, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        related_name="+",
        help_text="null also where they left their name out",
    )
    reporter = models.CharField(max_length=80, blank=True)
    kept_from = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    reported_at = models.DateTimeField()
    seen_at = models.DateTimeField(null=True)
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    closed_at = models.DateTimeField(null=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = ConcernQuerySet.as_manager()

    class Meta:
        ordering = [F("closed_at").desc(nulls_first=True), "-reported_at", "-pk"]
        constraints = [
            models.CheckConstraint(name="a_concern_says_something", condition=~Q(text="")),
            models.CheckConstraint(
                name="a_concern_is_seen_before_it_is_closed",
                condition=Q(closed_at__isnull=True) | Q(seen_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.about or "nobody in particular"


class ConcernEntryQuerySet(models.QuerySet["ConcernEntry"]):
    def visible_to(self, user: "User") -> Self:
        """The officers all of it, whoever reported what they added."""
        if not user.is_active:
            return self.none()
        mine = Q(kind=ConcernEntry.Kind.ADDED, concern__by=user)
        return self.filter(mine | Q(concern__in=Concern.objects.read_by_officer(user)))


class ConcernEntry(models.Model):
    """Added to a concern by whoever reported it, or an officer's note."""

    class Kind(models.TextChoices):
        ADDED = "added", "added"
        NOTE = "note", "note of the officers"

    concern = models.ForeignKey(Concern, on_delete=models.CASCADE, related_name="entries")
    kind = models.CharField(max_length=5, choices=Kind)
    text = models.TextField(max_length=LONGEST_TEXT)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()

    objects = ConcernEntryQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        verbose_name_plural = "concern entries"
        constraints = [
            models.CheckConstraint(name="a_concern_entry_says_something", condition=~Q(text="")),
            models.CheckConstraint(
                name="a_concern_entry_is_of_a_kind", condition=Q(kind__in=["added", "note"])
            ),
        ]

    def __str__(self) -> str:
        return self.text


class ConcernLookQuerySet(models.QuerySet["ConcernLook"]):
    def visible_to(self, user: "User") -> Self:
        return self.filter(concern__in=Concern.objects.read_by_officer(user))


class ConcernLook(models.Model):
    """That an officer opened a concern."""

    concern = models.ForeignKey(Concern, on_delete=models.CASCADE, related_name="looks")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()

    objects = ConcernLookQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.by} looked"
