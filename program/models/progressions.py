from typing import TYPE_CHECKING

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import F, Q

from program.engine.progression import LONGEST_WAVE, ProgressionKind, ProgressionRule
from program.engine.weeks import MOST_WEEKS
from program.models.blocks import Block

if TYPE_CHECKING:
    from athletes.models import User


class ProgressionKindChoices(models.TextChoices):
    GROW = ProgressionKind.GROW.value, "grow from week to week"
    STAY = ProgressionKind.STAY.value, "stay as it is until ready"
    WAVE = ProgressionKind.WAVE.value, "come in waves of rounds"


class ProgressionQuerySet(models.QuerySet["Progression"]):
    def visible_to(self, user: "User") -> "ProgressionQuerySet":
        return self.filter(block__in=Block.objects.visible_to(user))


class Progression(models.Model):
    """What an exercise is meant to do across a block, in its sessions of one name.

    It hangs on the exercise and the sessions' name, so a session that is copied to another week
    comes along by itself.
    """

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="progressions")
    session_name = models.CharField(max_length=80)
    exercise = models.ForeignKey("library.Exercise", on_delete=models.PROTECT, related_name="+")
    first_week = models.PositiveSmallIntegerField(
        default=1, help_text="of the block; what is written in the weeks before it stays"
    )
    kind = models.CharField(max_length=5, choices=ProgressionKindChoices)
    start = models.PositiveSmallIntegerField(help_text="in the exercise's measure")
    step = models.PositiveSmallIntegerField(default=0)
    every = models.PositiveSmallIntegerField(default=1)
    top = models.PositiveSmallIntegerField(default=0)
    wave = ArrayField(
        models.PositiveSmallIntegerField(null=True),
        default=list,
        help_text="rounds by week; null is a deload",
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()

    objects = ProgressionQuerySet.as_manager()

    class Meta:
        ordering = ["session_name", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_intent_per_exercise_and_session_name",
                fields=["block", "session_name", "exercise"],
            ),
            models.CheckConstraint(
                name="intent_kind_is_known", condition=Q(kind__in=ProgressionKindChoices.values)
            ),
            models.CheckConstraint(
                name="progression_begins_within_a_block",
                condition=Q(first_week__range=(1, MOST_WEEKS + 1)),
            ),
            models.CheckConstraint(
                name="intent_starts_between_1_and_600", condition=Q(start__range=(1, 600))
            ),
            models.CheckConstraint(
                name="intent_grows_somewhere",
                condition=~Q(kind=ProgressionKindChoices.GROW)
                | Q(step__gte=1, every__range=(1, MOST_WEEKS), top__gt=F("start"), top__lte=600),
            ),
            models.CheckConstraint(
                name="wave_has_2_to_8_weeks",
                condition=~Q(kind=ProgressionKindChoices.WAVE)
                | Q(wave__len__range=(2, LONGEST_WAVE)),
            ),
        ]

    def __str__(self) -> str:
        return str(self.rule)

    @property
    def rule(self) -> ProgressionRule:
        return ProgressionRule(
            ProgressionKind(self.kind),
            self.start,
            self.step,
            self.every,
            self.top,
            tuple(self.wave),
        )
