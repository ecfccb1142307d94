import datetime as dt
from collections.abc import Collection
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from athletes.models import Child, Cohort, Placement
from library.shared.dates import date_in_words
from library.shared.reasons import in_words as is_in_words
from program.models.blocks import Block
from program.models.sessions import Place, Session

if TYPE_CHECKING:
    from athletes.models import User
    from program.models.assigned import AssignedSession


class Lasts(models.TextChoices):
    """Until when a decision stands, if nobody takes it back before."""

    KIT = "kit", "until the kit changes"
    LANDING = "landing", "until placed on landing"
    BLOCK = "block", "for this block"
    DAY = "day", "until a day"


HOLDS: Final = ("cohort_id", "place", "needing", "where_nothing_fits", "block_id", "until")
"""The columns that `holds_in` and fit ask of a decision."""


class StandingDecisionQuerySet(models.QuerySet["StandingDecision"]):
    def visible_to(self, user: "User") -> "StandingDecisionQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def standing(self) -> "StandingDecisionQuerySet":
        """Those that have not ended, whether or not their day or block is over."""
        return self.filter(ended_at__isnull=True)

    def ahead(self, today: dt.date) -> "StandingDecisionQuerySet":
        """Those that may still hold in a session from today on."""
        over = Q(until__lt=today) | Q(block__ends_on__lt=today)
        return self.standing().exclude(over)

    def end_with_kit(self, children: Collection[int], place: Place, at: dt.datetime) -> None:
        """What was decided until the kit changes, which it has, at home or at the venue, for these
        children, by key."""
        self.standing().filter(lasts=Lasts.KIT, place=place, child__in=children).update(ended_at=at)

    def end_with_landing(self, children: Collection[int], at: dt.datetime) -> None:
        """What was decided until they are placed on landing, for those of these who are now."""
        placed = Placement.objects.current().on_landing().filter(child__in=children)
        self.standing().filter(lasts=Lasts.LANDING, child__in=placed.values("child")).update(
            ended_at=at
        )

    def with_names(self) -> "StandingDecisionQuerySet":
        return self.select_related(
            "cohort", "block", "written__current", "exercise__current", "set_by"
        )


class StandingDecision(models.Model):
    """What a coach decided for one child in all sessions of a cohort, at home or at the venue.

    It is about a written exercise, wherever it stands, so that it survives copies and templates:
    `exercise` instead, or none to leave it out. Or it is about something missing: what needs one of
    the items of `needing`, and cannot be met, is left out. `where_nothing_fits`: only where fit has
    nothing to give. `because` is why it is given although checks said stop, in the sentences of
    `in_spite_of`. A fact that changed ends it without a person.
    """

    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="standing_decisions")
    cohort = models.ForeignKey(Cohort, on_delete=models.CASCADE, related_name="+")
    place = models.CharField(max_length=5, choices=Place)
    written = models.ForeignKey(
        "library.Exercise", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    needing = ArrayField(
        models.CharField(max_length=60), default=list, blank=True, help_text="items, by slug"
    )
    missing = models.CharField(
        max_length=120, blank=True, help_text="what that is called, as it was when it was decided"
    )
    exercise = models.ForeignKey(
        "library.Exercise", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    where_nothing_fits = models.BooleanField(default=True)
    lasts = models.CharField(max_length=7, choices=Lasts)
    block = models.ForeignKey(
        Block, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    until = models.DateField(null=True, blank=True, help_text="the last day it holds")
    note = models.CharField(max_length=200, blank=True, help_text="a word to the family")
    in_spite_of = ArrayField(
        models.CharField(max_length=300), default=list, blank=True, help_text="what checks said"
    )
    because = models.CharField(max_length=300, blank=True)
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    set_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = StandingDecisionQuerySet.as_manager()

    class Meta:
        ordering = ["child", "-set_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="decided_once_per_exercise",
                fields=["child", "cohort", "place", "written"],
                condition=Q(ended_at__isnull=True, written__isnull=False),
            ),
            models.UniqueConstraint(
                name="decided_once_per_missing_thing",
                fields=["child", "cohort", "place", "needing"],
                condition=Q(ended_at__isnull=True, written__isnull=True),
            ),
            models.CheckConstraint(
                name="decided_about_an_exercise_or_about_something_missing",
                condition=Q(written__isnull=False, needing=[], missing="")
                | (
                    Q(written__isnull=True, exercise__isnull=True, where_nothing_fits=True)
                    & ~Q(needing=[])
                    & ~Q(missing="")
                ),
            ),
            models.CheckConstraint(
                name="decision_lasts_as_it_says",
                condition=Q(
                    lasts__in=[Lasts.KIT, Lasts.LANDING], block__isnull=True, until__isnull=True
                )
                | Q(lasts=Lasts.BLOCK, block__isnull=False, until__isnull=True)
                | Q(lasts=Lasts.DAY, block__isnull=True, until__isnull=False),
            ),
            models.CheckConstraint(
                name="decision_place_is_known", condition=Q(place__in=Place.values)
            ),
            models.CheckConstraint(
                name="decision_in_spite_of_a_stop_has_a_reason",
                condition=Q(in_spite_of=[], because="")
                | (~Q(in_spite_of=[]) & is_in_words("because")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.about}: {self.what}"

    @property
    def about(self) -> str:
        return str(self.written) if self.written else f"what needs {self.missing}"

    @property
    def what(self) -> str:
        return f"{self.exercise} instead" if self.exercise else "left out"

    @property
    def in_words(self) -> str:
        """How long it holds: "until the kit changes", "for the block Spring", "until 3 May"."""
        if self.block:
            return f"for the block {self.block}"
        if self.until:
            return f"until {date_in_words(self.until)}"
        return str(Lasts(self.lasts).label)

    def holds_in(self, session: "Session | AssignedSession", cohort: int, block: int) -> bool:
        """Whether it holds in a session, which is of this cohort and block, by key. Asks the
        database nothing."""
        return (
            self.ended_at is None
            and (self.cohort_id, self.place) == (cohort, session.place)
            and self.block_id in (None, block)
            and (self.until is None or session.date <= self.until)
        )
