"""The checks of a cohort's week: its days, its work, and the weeks before it."""

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final

from program.engine.checks.people import CheckedChild, Elsewhere, Meant, contacts_of
from program.engine.checks.rules import (
    BRENNER_2024,
    COMMON_PRACTICE,
    FAIGENBAUM_2009,
    HANDBOOKS,
    HOUSE_RULE,
    JAYANTHI_2015,
    USUAL,
    CheckResult,
    Checks,
    Level,
    Limit,
    Settings,
    Told,
)
from program.engine.checks.session import STRENGTH
from program.engine.sport import days_off, together
from program.engine.volume import HIP_DOMINANT, KNEE_DOMINANT, PULL, PUSH, Volume, Work
from program.engine.weeks import A_WEEK, week_end
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
    """What one session of a day holds, and the minutes planned for it."""

    on: dt.date
    volume: Volume
    minutes: int = 0


@dataclass(frozen=True)
class CheckedWeek:
    """Seven days from `starts`, the cohort's work in them and in the two weeks before, and the
    children it is for, with what they do in other groups. Other days are not looked at."""

    starts: dt.date
    work: tuple[DayOfWork, ...]
    children: tuple[CheckedChild, ...] = ()

    def of(self, back: int) -> list[DayOfWork]:
        """The work of this week, 0, or of so many weeks before it."""
        starts = self.starts - back * A_WEEK
        return [
            day for day in self.work if starts <= day.on < starts + A_WEEK and day.volume.patterns
        ]

    @property
    def eve(self) -> dt.date:
        """The last day before the week."""
        return self.starts - dt.timedelta(days=1)

    @cached_property
    def elsewhere(self) -> list[tuple[CheckedChild, tuple[Elsewhere, ...]]]:
        """The children who have sessions in other groups this week or on its eve, with these."""
        last = self.starts + dt.timedelta(days=6)
        found = ((child, child.within(self.eve, last)) for child in self.children)
        return [(child, sessions) for child, sessions in found if sessions]

    @cached_property
    def elsewhere_this_week(self) -> list[tuple[CheckedChild, tuple[Elsewhere, ...]]]:
        found = (
            (child, tuple(each for each in sessions if each.on >= self.starts))
            for child, sessions in self.elsewhere
        )
        return [(child, sessions) for child, sessions in found if sessions]

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
        before = (day for day in self.of(1) if not STRENGTH.isdisjoint(day.volume.patterns))
        eve = [self.eve] if any(day.on == self.eve for day in before) else []
        return [*eve, *self.strength_days]


CHECKS: Final = Checks[CheckedWeek]()


def check_week(week: CheckedWeek, settings: Settings = USUAL) -> tuple[CheckResult, ...]:
    """What the week asks a look for, the most urgent first; nothing for an empty week."""
    return CHECKS.results(week, settings) if week.days else ()


@CHECKS.add(
    code="rest_days",
    title="Days off in a week",
    about="Days of the week without a session, for each child over all its groups.",
    level=Level.STOP,
    source=BRENNER_2024,
    usual=Limit(least=1),
    unit="days",
    allowed=(0, 6),
)
def rest_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    rest = days_off(week.days)
    if not limit.holds(rest):
        yield Told(f"{_free(rest)} off this week.", rest)
        return
    rests = [
        (days_off(week.days, (each.on for each in sessions)), child, sessions)
        for child, sessions in week.elsewhere_this_week
    ]
    short = [each for each in rests if not limit.holds(each[0])]
    if short:
        least = min(rest for rest, *_ in short)
        meant = Meant.of((child, sessions) for _, child, sessions in short)
        who = _with_other_groups(len(short))
        yield Told(f"{_free(least)} off this week for {who}.", least, *meant)


def _free(days: int) -> str:
    return f"Only {plural(days, 'day')}" if days else "No day"


def _with_other_groups(count: int) -> str:
    they = "it does" if count == 1 else "they do"
    return f"{plural(count, 'child', 'children')}, with what {they} in other groups"


@CHECKS.add(
    code="rest_days_with_sport",
    title="Days off in a week, with sport elsewhere",
    about=(
        "Days of the week without any sport, for each child of whom its family has said what it"
        " does outside the program."
    ),
    level=Level.LOOK,
    source=BRENNER_2024,
    usual=Limit(least=1),
    unit="days",
    allowed=(0, 6),
)
def rest_days_with_sport(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    """A look and no stop: most of these days are not the program's to change."""
    found = []
    for child in week.children:
        others = child.within(week.starts, week_end(week.starts))
        here = {*week.days, *(each.on for each in others)}
        rest = days_off(here, child.sport_days)
        if child.sport_days and limit.holds(days_off(here)) and not limit.holds(rest):
            found.append((rest, child, others))
    if found:
        least = min(rest for rest, *_ in found)
        meant = Meant.of((child, others) for _, child, others in found)
        who = plural(len(found), "child", "children")
        yield Told(f"{_free(least)} off this week for {who}, with sport elsewhere.", least, *meant)


@CHECKS.add(
    code="sport_hours",
    title="Hours of sport in a week",
    about=(
        "All hours of sport of the week, here, in other groups and outside the program, against"
        " each child’s years of age, where its family has said what it does outside."
    ),
    level=Level.LOOK,
    source=JAYANTHI_2015,
    usual=Limit(most=0),
    unit="hours more than years of age",
    allowed=(0, 10),
)
def sport_hours(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    here = sum(day.minutes for day in week.of(0))
    found = []
    for child in week.children:
        if child.sport_hours is None:
            continue
        others = child.within(week.starts, week_end(week.starts))
        minutes = here + sum(each.minutes for each in others)
        hours = together(child.sport_hours, 60 * minutes)
        if not limit.holds(hours - child.age):
            found.append((hours, child, others))
    if found:
        most = max(hours for hours, *_ in found)
        meant = Meant.of((child, others) for _, child, others in found)
        yield Told(
            f"{'Up to ' if len(found) > 1 else ''}{most:g} hours of sport this week, with sport"
            f" elsewhere: more than years of age for {plural(len(found), 'child', 'children')}.",
            round(max(hours - child.age for hours, child, _ in found), 1),
            *meant,
        )


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
    about=(
        "Strength work on two days that follow each other, also over the week’s edge and for each"
        " child over all its groups."
    ),
    level=Level.NOTE,
    source=FAIGENBAUM_2009,
)
def consecutive_days(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    days = week.days_with_the_one_before
    if any((later - earlier).days == 1 for earlier, later in pairwise(days)):
        yield Told("Two strength days in a row; a day between them is usual.")
        return
    beside = [
        (child, [each for each in sessions if each.is_strength and _next_to(each.on, days)])
        for child, sessions in week.elsewhere
    ]
    if found := [(child, sessions) for child, sessions in beside if sessions]:
        who = _with_other_groups(len(found))
        yield Told(
            f"Two strength days in a row for {who}; a day between them is usual.",
            None,
            *Meant.of(found),
        )


def _next_to(day: dt.date, days: Iterable[dt.date]) -> bool:
    return any(abs((day - each).days) == 1 for each in days)


@CHECKS.add(
    code="week_contacts",
    title="Ground contacts in a week",
    about=(
        "All ground contacts of the week, in whatever group, against each child’s ceiling for one"
        " day: three days’ worth is usual."
    ),
    level=Level.LOOK,
    source=f"{HANDBOOKS}; the week is {COMMON_PRACTICE}",
    usual=Limit(most=300),
    unit="% of the child’s ceiling",
    allowed=(50, 700),
)
def week_contacts(week: CheckedWeek, limit: Limit) -> Iterator[Told]:
    total = round(week.volumes[0].total.ground_contacts)
    if not total:
        return
    allowed = {child.key: child.ceiling * (limit.most or 0) // 100 for child in week.children}
    over = {key: most for key, most in allowed.items() if total > most}
    if over:
        yield Told(
            f"{total} ground contacts this week: more than is usual for {len(over)} of"
            f" {plural(len(allowed), 'child', 'children')}, the lowest at {min(over.values())}.",
            total,
        )
    together = [
        (child, sessions)
        for child, sessions in week.elsewhere_this_week
        if child.key not in over and total + contacts_of(sessions) > allowed[child.key]
    ]
    if together:
        most = max(contacts_of(sessions) for _, sessions in together)
        yield Told(
            f"{total} ground contacts here and up to {most} in other groups this week: more than"
            f" is usual for {plural(len(together), 'child', 'children')}.",
            total + most,
            *Meant.of(together),
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
