"""The checks of a whole block: what only shows over many weeks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from program.engine.checks.rules import (
    COMMON_PRACTICE,
    USUAL,
    CheckResult,
    Checks,
    Level,
    Limit,
    Settings,
    Told,
)
from program.engine.volume import Ratio, Volume
from program.engine.weeks import MOST_WEEKS

LIGHTER: Final = 0.8
"""The share of the heaviest week's sets from which downward a week is a lighter one."""

ENOUGH_TO_WEIGH: Final = 6
"""Sets of one kind over a block from which on none at all of the other is lopsided. A house
rule."""


@dataclass(frozen=True)
class CheckedBlock:
    """The volume of each week of a block, in order; an empty one where nothing is written."""

    weeks: tuple[Volume, ...]

    @cached_property
    def total(self) -> Volume:
        return sum(self.weeks, Volume())


CHECKS: Final = Checks[CheckedBlock]()


def check_block(block: CheckedBlock, settings: Settings = USUAL) -> tuple[CheckResult, ...]:
    """What the block asks a look for, the most urgent first."""
    return CHECKS.results(block, settings)


@CHECKS.add(
    code="lighter_week",
    title="Weeks without a lighter one",
    about="Weeks in a row of which none has at most four fifths of the sets before it.",
    level=Level.NOTE,
    source=COMMON_PRACTICE,
    usual=Limit(most=6),
    unit="weeks",
    allowed=(2, MOST_WEEKS),
    beyond="House rule: that four fifths of the heaviest week’s sets are a lighter week.",
)
def lighter_week(block: CheckedBlock, limit: Limit) -> Iterator[Told]:
    for first, last in heavy_stretches([week.total.sets for week in block.weeks]):
        if not limit.holds(last - first + 1):
            yield Told(
                f"Weeks {first} to {last} have no lighter week among them; one after {limit} is"
                " usual.",
                last - first + 1,
            )


@CHECKS.add(
    code="push_to_pull",
    title="Pushing against pulling",
    about="How many times the one the other’s sets are, over the block; or the one alone.",
    level=Level.NOTE,
    source=COMMON_PRACTICE,
    usual=Limit(most=200),
    unit="% of the other",
    allowed=(100, 1000),
    beyond="House rule: that one of them alone is told from 6 sets on.",
)
def push_to_pull(block: CheckedBlock, limit: Limit) -> Iterator[Told]:
    return _lopsided(block.total.push_to_pull, "pushing", "pulling", limit)


@CHECKS.add(
    code="knee_to_hip",
    title="Knee- against hip-dominant",
    about="How many times the one the other’s sets are, over the block; or the one alone.",
    level=Level.NOTE,
    source=COMMON_PRACTICE,
    usual=Limit(most=200),
    unit="% of the other",
    allowed=(100, 1000),
    beyond="House rule: that one of them alone is told from 6 sets on.",
)
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


def _lopsided(ratio: Ratio, first: str, second: str, limit: Limit) -> Iterator[Told]:
    less, more = sorted((ratio.first, ratio.second))
    if not less and more >= ENOUGH_TO_WEIGH:
        there, missing = (first, second) if ratio.first else (second, first)
        yield Told(f"Over the block {more} sets of {there} and none of {missing}.")
    elif less and not limit.holds(100 * more / less):
        yield Told(
            f"Over the block {ratio.first} sets of {first} to {ratio.second} of {second}.",
            round(100 * more / less),
        )
