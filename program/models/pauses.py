from dataclasses import replace
from typing import Final

from django.db import models
from django.db.models import Q

from program.engine.pace import JUNIOR_PACE, Pace

PAUSES: Final = ("get_ready", "change_side", "move_on", "breather", "drink")
LONGEST_PAUSE: Final = 120


def _seconds(usual: int, help_text: str) -> "models.PositiveSmallIntegerField[int, int]":
    return models.PositiveSmallIntegerField(default=usual, db_default=usual, help_text=help_text)


class Pauses(models.Model):
    """The seconds between work that a group of children needs: a setting of its block, kept with
    what each child got of it, so that a clock once published is never another."""

    get_ready = _seconds(JUNIOR_PACE.get_ready, "before each part")
    change_side = _seconds(JUNIOR_PACE.change_side, "from left to right")
    move_on = _seconds(JUNIOR_PACE.move_on, "into the next exercise")
    breather = _seconds(JUNIOR_PACE.breather, "where an exercise says none")
    drink = _seconds(JUNIOR_PACE.drink, "between two parts")

    class Meta:
        abstract = True
        constraints = [
            models.CheckConstraint(
                name="%(class)s_pauses_at_most_2_minutes",
                condition=Q(**{f"{name}__lte": LONGEST_PAUSE for name in PAUSES}),
                violation_error_message=f"A pause is at most {LONGEST_PAUSE} seconds.",
            )
        ]

    @property
    def pauses(self) -> dict[str, int]:
        return {name: getattr(self, name) for name in PAUSES}

    @property
    def pace(self) -> Pace:
        """The clock of the sessions: these pauses at the usual speeds of work."""
        return replace(JUNIOR_PACE, **self.pauses)
