from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from library.shared.one_row import OneRowQuerySet
from program.engine import way_back
from program.engine.pain import HIGHEST_SPARES_FROM, SPARES_FROM
from program.engine.way_back import Thresholds


def _threshold(
    name: str, usual: int, most: int, help_text: str
) -> "models.PositiveSmallIntegerField[int, int]":
    between = [MinValueValidator(1), MaxValueValidator(most)]
    return models.PositiveSmallIntegerField(
        name, default=usual, db_default=usual, validators=between, help_text=help_text
    )


class SafetyRules(models.Model):
    """What a program sets about pain and the way back: one row, or none while the usual holds."""

    spares_from = models.PositiveSmallIntegerField(
        "A place is spared from",
        default=SPARES_FROM,
        validators=[MinValueValidator(1), MaxValueValidator(HIGHEST_SPARES_FROM)],
        help_text="how much it hurts, 1 to 10, from which a place is spared until somebody answers",
    )
    call_whom = models.CharField("Who families ring first", max_length=60, blank=True)
    call_number = models.CharField("Their number", max_length=30, blank=True)
    pain_free_days = _threshold(
        "Days without pain",
        way_back.PAIN_FREE_DAYS,
        14,
        "before a place that hurt is worked again, with easier exercises",
    )
    sessions_at_a_step = _threshold(
        "Sessions at each step",
        way_back.SESSIONS_AT_A_STEP,
        10,
        "done without pain before the next step is asked about",
    )
    lighter_after_days = _threshold(
        "Days away",
        way_back.LIGHTER_AFTER_DAYS,
        60,
        "without a session, after which a lighter first week is offered",
    )
    lighter_after_illness = _threshold(
        "Days away with an illness",
        way_back.LIGHTER_AFTER_ILLNESS,
        60,
        "after which it is offered already",
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(null=True)

    objects = OneRowQuerySet["SafetyRules"].as_manager()

    class Meta:
        verbose_name_plural = "safety rules"
        constraints = [
            models.CheckConstraint(name="one_row_of_safety_rules", condition=Q(pk=1)),
            models.CheckConstraint(
                name="a_place_is_always_spared_from_some_score",
                condition=Q(spares_from__range=(1, HIGHEST_SPARES_FROM)),
                violation_error_message="Choose a number from 1 to 4: sparing is never off.",
            ),
            models.CheckConstraint(
                name="every_step_of_the_way_back_takes_something",
                condition=Q(
                    pain_free_days__range=(1, 14),
                    sessions_at_a_step__range=(1, 10),
                    lighter_after_days__range=(1, 60),
                    lighter_after_illness__range=(1, 60),
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"spares from {self.spares_from} of 10"

    @property
    def call_link(self) -> str:
        """The number as a phone dials it (RFC 3966)."""
        return "".join(each for each in self.call_number if each.isdigit() or each == "+")

    @property
    def thresholds(self) -> Thresholds:
        return Thresholds(
            self.pain_free_days,
            self.sessions_at_a_step,
            self.lighter_after_days,
            self.lighter_after_illness,
        )
