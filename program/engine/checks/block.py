"""The checks of a whole block: what only shows over many weeks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from program.engine.checks.rules import (
    COMMON_PRACTICE,
    USUAL,
    Check,
    CheckResult,
    Level,
    Limit,
    Rule,
    Settings,
    Told,
    findings,
)
from program.engine.volume import Ratio, Volume
from program.engine.weeks import MOST_WEEKS

LIGHTER: Final = 0.8
"""The share of the heaviest week's sets from which downward a week is a lighter one."""


@dataclass(frozen=True)
class CheckedBlock:
    """The volume of each week of a block, in order; an empty one where nothing is written."""

    weeks: tuple[Volume, ...]

    @cached_property
    def total(self) -> Volume:
        return sum(self.weeks, Volume())


def check_block(block: CheckedBlock, settings: Settings = USUAL) -> tuple[CheckResult, ...]:
    """What the block asks a look for, the most urgent first."""
    return findings(CHECKS, block, settings)


def lighter_week(block: CheckedBlock, limit: Limit) -> Iterator[Told]:
    for first, last in heavy_stretches([week.total.sets for week in block.weeks]):
        if not limit.holds(last - first + 1):
            yield Told(
                f"Weeks {first} to {last} have no lighter week among them; one after {limit} is"
                " usual.",
                last - first + 1,
            )


def push_to_pull(block: CheckedBlock, limit: Limit) -> Iterator[Told]:
    return _lopsided(block.total.push_to_pull, "pushing", "pulling", limit)


def knee_to_hip(block: CheckedBlock, limit: Limit) -> Iterator[Told]:
    return _lopsided(block.total.knee_to_hip, "knee-dominant", "hip-dominant", limit)


def heavy_stretches(sets: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Stretches of weeks, counted from 1, in which none is lighter than the heaviest before it; a
    week without work is a lighter one."""
    first, heaviest = 1, 0
    for week, done in enumerate(sets, start=1):
        if done <= heaviest * LIGHTER:
            if week > first:
                yield first, week - 1
            first, heaviest = week + 1, 0
        heaviest = max(heaviest, done)
    if first <= len(sets):
        yield first, len(sets)


CHECKS: Final = (
    Check(
        Rule(
            "lighter_week",
            "Weeks without a lighter one",
            "Weeks in a row of which none has at most four fifths of the sets before it.",
            Level.NOTE,
            COMMON_PRACTICE,
            Limit(most=6),
            "weeks",
            (2, MOST_WEEKS),
        ),
        lighter_week,
    ),
    Check(
        Rule(
            "push_to_pull",
            "Pushing against pulling",
            "How many times the one the other’s sets are, over the block.",
            Level.NOTE,
            COMMON_PRACTICE,
            Limit(most=200),
            "% of the other",
            (100, 1000),
        ),
        push_to_pull,
    ),
    Check(
        Rule(
            "knee_to_hip",
            "Knee- against hip-dominant",
            "How many times the one the other’s sets are, over the block.",
            Level.NOTE,
            COMMON_PRACTICE,
            Limit(most=200),
            "% of the other",
            (100, 1000),
        ),
        knee_to_hip,
    ),
)


def _lopsided(ratio: Ratio, first: str, second: str, limit: Limit) -> Iterator[Told]:
    less, more = sorted((ratio.first, ratio.second))
    if less and not limit.holds(100 * more / less):
        yield Told(
            f"Over the block {ratio.first} sets of {first} to {ratio.second} of {second}.",
            round(100 * more / less),
        )
