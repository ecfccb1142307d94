import datetime as dt
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Coalesce

from program.models.assigned import AssignedSession, AssignedSlot

if TYPE_CHECKING:
    from athletes.models import User


class CompletionState(models.TextChoices):
    DONE = "done", "done"
    PARTLY = "some", "some of it"
    NOT_DONE = "not", "not done"


class Absence(models.TextChoices):
    """Why a session was not done: told, or in vain waited for at the venue."""

    SICK = "sick", "sick"
    AWAY = "away", "away"
    NO_WORD = "no_word", "absent, no notice"


LATEST_DAY_WHEN_TOLD: Final = models.Func(
    Coalesce(F("edited_at"), F("logged_at")),
    template="((%(expressions)s AT TIME ZONE 'UTC') + interval '14 hours')::date",
    output_field=models.DateField(),
)
"""The day it was where a day begins first on earth: the database knows no program's time zone."""


class CompletionQuerySet(models.QuerySet["Completion"]):
    def visible_to(self, user: "User") -> "CompletionQuerySet":
        return self.filter(assigned_session__in=AssignedSession.objects.visible_to(user))


class Completion(models.Model):
    """What happened with one assigned session. Logging again is an edit and shows as one."""

    assigned_session = models.OneToOneField(
        AssignedSession, on_delete=models.CASCADE, related_name="completion"
    )
    state = models.CharField(max_length=4, choices=CompletionState)
    absence = models.CharField(
        max_length=7, choices=Absence, blank=True, help_text="why it was not done, where told"
    )
    done_on = models.DateField(
        null=True, blank=True, help_text="the day it was done, whatever day it was written for"
    )
    effort = models.PositiveSmallIntegerField(null=True, blank=True, help_text="0 to 10")
    enjoyment = models.PositiveSmallIntegerField(null=True, blank=True, help_text="1 to 5")
    minutes = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.TextField(max_length=1000, blank=True)
    logged_at = models.DateTimeField()
    logged_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    edited_at = models.DateTimeField(null=True, blank=True)
    edited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = CompletionQuerySet.as_manager()

    class Meta:
        ordering = ["-logged_at"]
        constraints = [
            models.CheckConstraint(
                name="completion_state_is_known", condition=Q(state__in=CompletionState.values)
            ),
            models.CheckConstraint(
                name="absence_is_known_and_of_what_was_not_done",
                condition=Q(absence="")
                | Q(absence__in=Absence.values, state=CompletionState.NOT_DONE),
            ),
            models.CheckConstraint(
                name="what_was_done_was_done_on_a_day",
                condition=Q(state=CompletionState.NOT_DONE, done_on__isnull=True)
                | (~Q(state=CompletionState.NOT_DONE) & Q(done_on__isnull=False)),
            ),
            models.CheckConstraint(
                name="done_before_it_was_told",
                condition=Q(done_on__isnull=True) | Q(done_on__lte=LATEST_DAY_WHEN_TOLD),
                violation_error_message="That day has not come yet.",
            ),
            models.CheckConstraint(
                name="effort_between_0_and_10",
                condition=Q(effort__isnull=True) | Q(effort__lte=10),
                violation_error_message="Effort runs from 0 to 10.",
            ),
            models.CheckConstraint(
                name="enjoyment_between_1_and_5",
                condition=Q(enjoyment__isnull=True) | Q(enjoyment__range=(1, 5)),
                violation_error_message="Enjoyment runs from 1 to 5.",
            ),
            models.CheckConstraint(
                name="minutes_between_1_and_240",
                condition=Q(minutes__isnull=True) | Q(minutes__range=(1, 240)),
                violation_error_message="A session lasts between 1 and 240 minutes.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_absence_display() if self.absence else self.get_state_display()

    @property
    def other_day(self) -> dt.date | None:
        """The day it was done, if that is not the one it was written for; asks nothing of a log
        that came with its session."""
        return None if self.done_on == self.assigned_session.date else self.done_on


class SlotResultQuerySet(models.QuerySet["SlotResult"]):
    def visible_to(self, user: "User") -> "SlotResultQuerySet":
        return self.filter(completion__in=Completion.objects.visible_to(user))


class SlotResult(models.Model):
    """What happened with one exercise; the amounts are of the last round, per side where sided."""

    completion = models.ForeignKey(Completion, on_delete=models.CASCADE, related_name="results")
    assigned_slot = models.ForeignKey(
        AssignedSlot, on_delete=models.CASCADE, related_name="results"
    )
    state = models.CharField(max_length=4, choices=CompletionState)
    amount = models.PositiveSmallIntegerField(null=True, blank=True)
    amount_left = models.PositiveSmallIntegerField(null=True, blank=True)
    amount_right = models.PositiveSmallIntegerField(null=True, blank=True)
    took_easier = models.BooleanField(default=False)

    objects = SlotResultQuerySet.as_manager()

    class Meta:
        ordering = ["completion", "assigned_slot"]
        constraints = [
            models.UniqueConstraint(
                name="one_result_per_slot", fields=["completion", "assigned_slot"]
            ),
            models.CheckConstraint(
                name="result_state_is_known", condition=Q(state__in=CompletionState.values)
            ),
            *(
                models.CheckConstraint(
                    name=f"result_{field}_at_most_600",
                    condition=Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__lte": 600}),
                )
                for field in ("amount", "amount_left", "amount_right")
            ),
        ]

    def __str__(self) -> str:
        return self.get_state_display()
