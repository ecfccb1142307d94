"""Writing the demo's heights: half the families agree, one child is in a spurt, and most of the
others would rather not be measured."""

import datetime as dt
import random
from collections.abc import Sequence
from decimal import Decimal
from typing import Final

from django.utils import timezone

from athletes.models import Child, GrowthConsent, GrowthMeasurement, User
from program.models import Resolution
from program.models.resolutions import Do

DAYS_BEFORE: Final = (340, 250, 160, 70)
"""When a child was measured, counted from the block's first day."""

USUAL, SPURT = 5.2, 9.6  # cm a year
IN_A_SPURT: Final = 14
DUE: Final = 8
"""Places in the club: the child who grows fast, and one whose last measurement is long ago."""

NOT_ASKED: Final = 5


def write_heights(children: Sequence[Child], first_day: dt.date, seed: int) -> None:
    """Heights of the families that agree, every second one, from a chance of their own."""
    chance = random.Random(f"heights {seed}")  # noqa: S311 -- a story, not a secret
    agreeing = [(number, child) for number, child in enumerate(children) if number % 2 == 0]
    guardians = {child.pk: child.guardians.first() for _, child in agreeing}
    GrowthConsent.objects.bulk_create(
        GrowthConsent(
            child=child,
            given_by=guardians[child.pk],
            given_at=timezone.make_aware(
                dt.datetime.combine(first_day - dt.timedelta(days=350), dt.time(19))
            ),
        )
        for _, child in agreeing
    )
    GrowthMeasurement.objects.bulk_create(
        GrowthMeasurement(child=child, on=on, height=height, measured_by=guardians[child.pk])
        for number, child in agreeing
        for on, height in _heights(number, child, first_day, chance)
    )


def write_refusals(children: Sequence[Child], day: dt.date, coach: User) -> None:
    """What the families without an agreement said, but for one in four, who was not asked yet."""
    Resolution.objects.bulk_create(
        Resolution(
            child=child,
            finding="consent-heights",
            action=Do.DECLINED,
            sentence="No guardian has agreed to heights: they would rather not.",
            by=coach,
            at=timezone.make_aware(dt.datetime.combine(day, dt.time(9))),
        )
        for number, child in enumerate(children)
        if number % 2 and number % 8 != NOT_ASKED
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
