"""The checks of a cohort's week: its days, its work, and the weeks before it."""

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final

from program.engine.checks.rules import (
    BRENNER_2024,
    COMMON_PRACTICE,
    FAIGENBAUM_2009,
    HANDBOOKS,
    HOUSE_RULE,
    USUAL,
    CheckResult,
    Checks,
    Level,
    Limit,
    Settings,
    Told,
)
from program.engine.checks.session import STRENGTH
from program.engine.volume import HIP_DOMINANT, KNEE_DOMINANT, PULL, PUSH, Volume, Work
from program.engine.weeks import A_WEEK
from program.engine.wording import pattern_in_words, plural

KINDS_OF_WORK: Final[Mapping[str, frozenset[str]]] = {
    "pushing": PUSH,
    "pulling": PULL,
    "knee-dominant leg work": KNEE_DOMINANT,
    "hip-dominant leg work": HIP_DOMINANT,
    "bracing": frozenset({"front_brace", "side_brace"}),
}
"""What should not be missing for two weeks."""

GENTLE: Final = frozenset({"mobility"})
"""Patterns whose volume may jump."""

AMOUNTS: Final[Mapping[str, Callable[[Work], float]]] = {
    "sets": lambda work: work.sets,
    "repetitions": lambda work: work.repetitions,
    "seconds of holds and bouts": lambda work: work.hold_seconds,
    "metres": lambda work: work.metres,
    "ground contacts": lambda work: round(work.ground_contacts),
}


@dataclass(frozen=True, slots=True)
class DayOfWork:
    """What one session of a day holds."""

    on: dt.date
    volume: Volume


@dataclass(frozen=True)
class CheckedWeek:
    """Seven days from `starts`, the cohort's work in them and in the two weeks before, and each
    child's ground-contact ceiling for one session. Other days of work are not looked at."""

    starts: dt.date
    work: tuple[DayOfWork, ...]
    ceilings: tuple[int, ...] = ()

    def of(self, back: int) -> list[DayOfWork]:
        """The work of this week, 0, or of so many weeks before it."""
        starts = self.starts - back * A_WEEK
        return [
            day for day in self.work if starts <= day.on < starts + A_WEEK and day.volume.patterns
        ]

    @cached_property
    def volumes(self) -> tuple[Volume, Volume, Volume]:
        """Of this week, of the last, of the one before."""
        now, last, before = (
            sum((day.volume for day in self.of(back)), Volume()) for back in range(3)
        )
        return now, last, before

    @cached_property
    def days(self) -> list[dt.date]:
        return sorted({day.on for day in self.of(0)})

    @cached_property
    def strength_days(self) -> list[dt.date]:
        strong = (day for day in self.of(0) if not STRENGTH.isdisjoint(day.volume.patterns))
        return sorted({day.on for day in strong})

    @property
    def days_with_the_one_before(self) -> list[dt.date]:
        """The strength days, begun with the last day before the week if that was one."""
        eve = self.starts - dt.timedelta(days=1)
        before = (day for day in self.of(1) if not STRENGTH.isdisjoint(day.volume.patterns))
        return [*([eve] if any(day.on == eve for day in before) else []), *self.strength_days]


CHECKS: Final = Checks[CheckedWeek]()


def check_week(week: CheckedWeek, settings: Settings = USUAL) -> tuple[CheckResult, ...]:
    """What the week asks a look for, the most urgent first; nothing for an empty week."""
    return CHECKS.results(week, settings) if week.days else ()


@CHECKS.add(
    code="rest_days",
    title="Days off in a week",
    about="Days of the week without a session.",
    level=Level.STOP,
    source=BRENNER_2024,
    usual=Limit(least=1),
    unit="days",
    allowed=(0, 6),
)
def rest_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    rest = 7 - len(week.days)
    if not limit.holds(rest):
        free = f"Only {plural(rest, 'day')}" if rest else "No day"
        yield Told(f"{free} off this week.", rest)


@CHECKS.add(
    code="strength_days",
    title="Strength days in a week",
    about="Days with pushing, pulling or leg work.",
    level=Level.LOOK,
    source=FAIGENBAUM_2009,
    usual=Limit(most=3),
    unit="days",
    allowed=(1, 7),
)
def strength_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    days = len(week.strength_days)
    if not limit.holds(days):
        yield Told(f"{days} strength days this week; {limit} are usual.", days)


@CHECKS.add(
    code="consecutive_days",
    title="Strength days in a row",
    about="Strength work on two days that follow each other, also over the week’s edge.",
    level=Level.NOTE,
    source=FAIGENBAUM_2009,
)
def consecutive_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    days = week.days_with_the_one_before
    if any((later - earlier).days == 1 for earlier, later in pairwise(days)):
        yield Told("Two strength days in a row; a day between them is usual.")


@CHECKS.add(
    code="week_contacts",
    title="Ground contacts in a week",
    about=(
        "All ground contacts of the week against each child’s ceiling for one session: three"
        " sessions’ worth is usual."
    ),
    level=Level.LOOK,
    source=f"{HANDBOOKS}; the week is {COMMON_PRACTICE}",
    usual=Limit(most=300),
    unit="% of the child’s ceiling",
    allowed=(50, 700),
)
def week_contacts(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    total = round(week.volumes[0].total.ground_contacts)
    allowed = sorted(each * (limit.most or 0) // 100 for each in week.ceilings)
    over = [each for each in allowed if total > each]
    if over:
        yield Told(
            f"{total} ground contacts this week: more than is usual for {len(over)} of"
            f" {plural(len(allowed), 'child', 'children')}, the lowest at {over[0]}.",
            total,
        )


@CHECKS.add(
    code="volume_jump",
    title="Jump in a pattern’s volume",
    about=(
        "How much more of a movement pattern a week holds than the fuller of the two weeks"
        " before, in sets, repetitions, seconds, metres or contacts."
    ),
    level=Level.LOOK,
    source=COMMON_PRACTICE,
    usual=Limit(most=50),
    unit="% more",
    allowed=(5, 300),
)
def volume_jump(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    now, *earlier = week.volumes
    for pattern in sorted(set(now.patterns) - GENTLE):
        works = [before.of_pattern(pattern) for before in earlier]
        for unit, amount in AMOUNTS.items():
            after, most = amount(now.of_pattern(pattern)), max(map(amount, works))
            if most and not limit.holds(100 * (after - most) / most):
                which = pattern_in_words(pattern).capitalize()
                yield Told(
                    f"{which}: {after:g} {unit} this week, after at most {most:g} in the"
                    " two weeks before.",
                    round(100 * (after - most) / most),
                )
                break


@CHECKS.add(
    code="missing_work",
    title="A kind of work missing for two weeks",
    about=(
        "Pushing, pulling, knee- and hip-dominant leg work and bracing, each at least once in"
        " two weeks."
    ),
    level=Level.LOOK,
    source=HOUSE_RULE,
)
def missing_work(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    now, last, _ = week.volumes
    if not last.patterns:
        return
    for kind, patterns in KINDS_OF_WORK.items():
        if patterns.isdisjoint(now.patterns) and patterns.isdisjoint(last.patterns):
            yield Told(f"No {kind} for two weeks.")
