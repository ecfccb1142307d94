"""Writing the demo's heights: half the families agree (`agreeing`), and one child is in a spurt."""

import datetime as dt
import random
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from athletes.models import Child, GrowthMeasurement
from program.demo.agreeing import agrees_to_heights

DAYS_BEFORE: Final = (340, 250, 160, 70)
"""When a child was measured, counted from the block's first day."""

USUAL, SPURT = 5.2, 9.6  # cm a year
IN_A_SPURT: Final = 14
DUE: Final = 8
"""Places in the club: the child who grows fast, and one whose last measurement is long ago."""


def write_heights(children: Sequence[Child], first_day: dt.date, seed: int) -> None:
    """Heights of the families that agree, from a chance of their own."""
    chance = random.Random(f"heights {seed}")  # noqa: S311 -- a story, not a secret
    twice = random.Random(f"heights read again {seed}")  # noqa: S311 -- likewise
    agreeing = [
        (number, child) for number, child in enumerate(children) if agrees_to_heights(number)
    ]
    guardians = {child.pk: child.guardians.first() for _, child in agreeing}
    GrowthMeasurement.objects.bulk_create(
        GrowthMeasurement(
            child=child,
            on=on,
            height=height,
            height_again=height + Decimal(round(_slip(twice) - _slip(twice))) / 10,
            measured_by=guardians[child.pk],
        )
        for number, child in agreeing
        for on, height in _heights(number, child, first_day, chance)
    )


def _heights(
    number: int, child: Child, first_day: dt.date, chance: random.Random
) -> list[tuple[dt.date, Decimal]]:
    days = [first_day - dt.timedelta(days=before) for before in DAYS_BEFORE]
    days = days[:-1] if number == DUE else days
    begin = 82 + 5.9 * child.age_on(days[0]) + chance.gauss(0, 4)
    pace = SPURT if number == IN_A_SPURT else USUAL + chance.uniform(-0.6, 0.6)
    return [
        (on, Decimal(round(10 * (begin + pace * (on - days[0]).days / 365) + _slip(chance))) / 10)
        for on in days
    ]


def _slip(chance: random.Random) -> float:
    """What the tape is off by, in millimetres."""
    return chance.gauss(0, 2)
