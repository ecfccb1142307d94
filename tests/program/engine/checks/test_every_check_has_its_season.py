"""For each check a season in which it speaks, and one in which it must be silent.

A season is some weeks, each with its sessions by weekday (0 is the Monday). A check that has no
seasons here fails the first test.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pytest

from library.landing import ContactClass
from program.engine.checks import (
    RULES,
    Asked,
    CheckedBlock,
    CheckedChild,
    CheckedSession,
    CheckedSlot,
    CheckedWeek,
    DayOfWork,
    Elsewhere,
    WorkByDay,
    check_block,
    check_session,
    check_week,
)
from program.engine.dose.dose import Dose, DoseRange, Measure, Sides
from program.engine.volume import Volume, VolumeSlot, volume
from program.engine.weeks import A_DAY, A_WEEK

FIRST_MONDAY = dt.date(2026, 9, 7)
GYMNASTS = 7
CHILDREN = (CheckedChild(1, 80, age=10), CheckedChild(2, 80, age=11))


def slot(pattern, amount=8, rounds=2, sides=Sides.BOTH, contacts=0.0, **more) -> CheckedSlot:
    dose = Dose(Measure.REPETITIONS, amount, sides, contacts=contacts)
    return CheckedSlot(more.pop("name", pattern), pattern, dose, rounds, **more)


PUSH, PULL, SQUAT, HINGE = (slot(pattern) for pattern in ("push", "pull", "squat", "hinge"))
BALANCED = (PUSH, PULL, SQUAT, HINGE, slot("front_brace"))
HOPS = slot("land", 5, 3, contacts=2.0)
"""3 × 5 × 2 = 30 ground contacts."""


def session(*slots: CheckedSlot, **changes) -> CheckedSession:
    """Twenty minutes at home, six of them a warm-up; balanced where nothing else is said."""
    calm = CheckedSession(
        slots=slots or BALANCED,
        seconds=20 * 60,
        target_minutes=25,
        is_at_home=True,
        warm_up_seconds=6 * 60,
        on=FIRST_MONDAY,
        families=10,
    )
    return replace(calm, **changes)


type Week = Mapping[int, CheckedSession]


@dataclass(frozen=True)
class Season:
    weeks: Sequence[Week]
    children: tuple[CheckedChild, ...] = CHILDREN

    def said(self) -> set[str]:
        """The codes of all that any check says of its sessions, its weeks, and all of it."""
        results = [*check_block(CheckedBlock(tuple(map(self._volume, range(len(self.weeks))))))]
        work = WorkByDay(self._days())
        for number, week in enumerate(self.weeks):
            starts = FIRST_MONDAY + number * A_WEEK
            results += check_week(CheckedWeek(starts, work, self.children))
            for weekday, written in week.items():
                on = starts + weekday * A_DAY
                children = written.children or self.children
                results += check_session(replace(written, on=on, children=children))
        return {each.code for each in results}

    def _volume(self, number: int) -> Volume:
        return sum(map(volume_of, self.weeks[number].values()), Volume())

    def _days(self) -> list[DayOfWork]:
        return [
            DayOfWork(on(number, weekday), volume_of(written), written.target_minutes)
            for number, week in enumerate(self.weeks)
            for weekday, written in week.items()
        ]


def volume_of(written: CheckedSession) -> Volume:
    return volume(VolumeSlot(each.pattern, each.dose, each.rounds) for each in written.slots)


def days(*weekdays: int, of: CheckedSession | None = None) -> Week:
    return dict.fromkeys(weekdays, of or session())


def weeks(count: int, *weekdays: int, of: CheckedSession | None = None) -> list[Week]:
    return [days(*weekdays, of=of)] * count


def growing(pattern: str, *sets: int, beside=BALANCED) -> Season:
    """A week with so many sets of a pattern, on a Monday, and then the next one."""
    return Season([days(0, of=session(*beside, slot(pattern, 8, each))) for each in sets])


def hopping(*days_of_weeks: tuple[int, ...]) -> Season:
    """Thirty contacts on these weekdays, week after week."""
    return Season([days(*each, of=session(*BALANCED, HOPS)) for each in days_of_weeks])


def once(*slots: CheckedSlot, **changes) -> Season:
    """Two weeks of a balanced session, then this one."""
    return Season([*weeks(2, 0, 3), days(0, of=session(*slots, **changes))])


def on(number: int, weekday: int) -> dt.date:
    return FIRST_MONDAY + number * A_WEEK + weekday * A_DAY


def of_two_groups(*sessions: Elsewhere) -> tuple[CheckedChild, ...]:
    """The first child has these with the gymnasts, too."""
    return (replace(CHILDREN[0], elsewhere=sessions), CHILDREN[1])


def with_sport(hours: float, *weekdays: int) -> tuple[CheckedChild, ...]:
    """The first child, of ten, does so much outside the program in the second week."""
    outside = frozenset(on(1, weekday) for weekday in weekdays)
    return (replace(CHILDREN[0], sport_days=outside, sport_hours=hours), CHILDREN[1])


def getting_instead(asked: Asked) -> tuple[CheckedChild, ...]:
    """The first child gets something else than is written."""
    return (replace(CHILDREN[0], asked=asked), CHILDREN[1])


CALM = Season(weeks(6, 0, 2, 4))
LIGHTER = [*weeks(5, 0, 2, 4), *weeks(1, 0, 3), *weeks(4, 0, 2, 4)]

SEASONS: Mapping[str, tuple[Season, Season]] = {
    # One session
    "landing_first": (
        once(*BALANCED, HOPS, not_placed_on_landing=(1,)),
        once(not_placed_on_landing=(1,)),
    ),
    "landing_unsaid": (once(replace(HOPS, unsaid="on what floor")), once(HOPS)),
    # 4 × 5 × 5 = 100 contacts against 80; 3 × 5 × 5 = 75.
    "contacts": (once(slot("land", 5, 4, contacts=5)), once(slot("land", 5, 3, contacts=5))),
    # 3 × 5 × 2 = 30 contacts: from a height a quarter of 80, 20, medium two thirds of it, 53.
    "contact_classes": (
        once(replace(HOPS, contact_class=ContactClass.FROM_HEIGHT)),
        once(replace(HOPS, contact_class=ContactClass.MEDIUM)),
    ),
    "sessions_a_day": (
        Season(weeks(3, 0, 3), of_two_groups(Elsewhere(on(1, 3), GYMNASTS, 0))),
        Season(weeks(3, 0, 3), of_two_groups(Elsewhere(on(1, 4), GYMNASTS, 0))),
    ),
    "warm_up": (once(warm_up_seconds=None), CALM),
    "warm_up_length": (once(warm_up_seconds=4 * 60), CALM),
    "length": (once(seconds=30 * 60), once(seconds=27 * 60)),
    "length_for_age": (
        once(seconds=61 * 60, target_minutes=61),
        once(seconds=60 * 60, target_minutes=60),
    ),
    "sets": (once(slot("squat", 8, 4)), once(slot("squat", 8, 3))),
    "strength_repetitions": (once(slot("squat", 20)), once(slot("squat", 15))),
    "power_repetitions": (once(slot("land", 8, contacts=1)), once(slot("land", 6, contacts=1))),
    "own_range": (
        once(slot("squat", 15, amounts=DoseRange(6, 8, 12))),
        once(slot("squat", 12, amounts=DoseRange(6, 8, 12))),
    ),
    "equal_sides": (
        once(slot("squat", 7, sides=Sides.ALTERNATING)),
        once(slot("squat", 8, sides=Sides.ALTERNATING)),
    ),
    "kit_of_nobody": (once(slot("pull", is_for_nobody=True)), CALM),
    "kit": (once(lacking={"a rope": 6}), once(lacking={"a rope": 5})),
    "supervision": (
        once(slot("pull", is_watched=True)),
        once(slot("pull", is_watched=True), is_at_home=False),
    ),
    # Of the first child: what it gets instead, once in nine minutes and once in eight.
    "asks_more": (
        once(children=getting_instead(Asked(0, 9 * 60, takes_twice=True))),
        once(children=getting_instead(Asked(0, 8 * 60))),
    ),
    # A week
    "rest_days": (Season(weeks(2, *range(7))), Season(weeks(2, *range(0, 7, 2)))),
    # Here on Monday, Wednesday and Friday; with the other four no day is left, with three one.
    "rest_days_with_sport": (
        Season(weeks(2, 0, 2, 4), with_sport(4, 1, 3, 5, 6)),
        Season(weeks(2, 0, 2, 4), with_sport(4, 1, 3, 5)),
    ),
    # 3 × 25 minutes here are 1.25 hours: with 9 they are 10.25, with 8.75 just ten.
    "sport_hours": (
        Season(weeks(2, 0, 2, 4), with_sport(9, 1)),
        Season(weeks(2, 0, 2, 4), with_sport(8.75, 1)),
    ),
    "strength_days": (Season(weeks(2, 0, 2, 4, 6)), CALM),
    "consecutive_days": (Season(weeks(2, 0, 1)), CALM),
    # 30 on each of six days are 180, within three times 80; 60 on five are 300.
    "week_contacts": (
        Season(weeks(3, 0, 1, 2, 4, 5, of=session(*BALANCED, HOPS, HOPS))),
        Season(weeks(3, 0, 1, 2, 3, 4, 5, of=session(*BALANCED, HOPS))),
    ),
    # From nothing, and after two weeks without: 90 on a day.
    "landing_start": (
        Season([*weeks(2, 0), days(0, of=session(*BALANCED, HOPS, HOPS, HOPS))]),
        hopping((0, 3), (0, 3), (0, 2, 4), (0, 3)),
    ),
    "landing_days": (hopping((0, 3), (0, 1, 2, 3)), hopping((0, 2, 4), (0, 2, 4))),
    "pattern_start": (
        Season([*weeks(3, 0), days(0, of=session(*BALANCED, slot("crawl", 8, 10)))]),
        Season([*weeks(3, 0), days(0, of=session(*BALANCED, slot("crawl", 8, 9)))]),
    ),
    "volume_jump": (growing("crawl", 4, 4, 7), growing("crawl", 4, 4, 6, 4, 6)),
    "creeping": (growing("crawl", 6, 8, 11, 15), growing("crawl", 8, 9, 10, 11, 12, 13, 14)),
    "missing_work": (
        Season(weeks(2, 0, of=session(PUSH, SQUAT, HINGE))),
        Season([days(0), days(0, of=session(PUSH, SQUAT, HINGE))] * 2),
    ),
    # A block
    "lighter_week": (Season(weeks(7, 0, 2, 4)), Season(LIGHTER)),
    # 2 × 10 sets against none, and against 2 × 5.
    "push_to_pull": (growing("push", 10, 10, beside=()), growing("push", 2, 2)),
    "knee_to_hip": (growing("squat", 10, 10, beside=()), growing("squat", 2, 2)),
}


def test_every_check_has_its_seasons():
    assert set(SEASONS) == set(RULES)


@pytest.mark.parametrize("code", SEASONS)
def test_in_the_one_it_speaks_and_in_the_other_it_is_silent(code):
    speaks, silent = SEASONS[code]
    assert code in speaks.said()
    assert code not in silent.said()


def test_in_a_calm_season_no_check_speaks():
    assert CALM.said() == set()
