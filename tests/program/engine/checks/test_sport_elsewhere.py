"""A week's checks with what children do outside the program, added up by hand."""

import datetime as dt

from program.engine.checks import CheckedChild, CheckedWeek, Elsewhere, Level, WorkByDay, check_week
from program.engine.checks.rules import JAYANTHI_2015
from program.engine.checks.week import DayOfWork
from program.engine.dose.dose import Dose, Measure
from program.engine.volume import VolumeSlot, volume

MONDAY = dt.date(2026, 11, 23)
GENTLE = volume([VolumeSlot("mobility", Dose(Measure.REPETITIONS, 6), 1)])
CODES = {"rest_days_with_sport", "sport_hours"}


def on(plus: int) -> dt.date:
    return MONDAY + dt.timedelta(days=plus)


def here(*plus: int, minutes: int = 40) -> tuple[DayOfWork, ...]:
    return tuple(DayOfWork(on(each), GENTLE, minutes) for each in plus)


def child(key=1, *, age=10, hours: float | None = 8.0, days=(0, 2), elsewhere=()) -> CheckedChild:
    sport_days = frozenset(map(on, days)) if hours is not None else frozenset()
    return CheckedChild(key, 60, elsewhere, age=age, sport_hours=hours, sport_days=sport_days)


def found(*children: CheckedChild, work=None, settings=None):
    week = CheckedWeek(MONDAY, WorkByDay(here(1, 3, 5) if work is None else work), children)
    return [each for each in check_week(week, settings or {}) if each.code in CODES]


class TestDaysOff:
    def test_days_elsewhere_and_days_here_leave_none_for_one_child_of_two(self):
        # Here on Tuesday, Thursday and Saturday; elsewhere on Monday, Wednesday, Friday, Sunday.
        busy, free = child(1, hours=6, days=(0, 2, 4, 6)), child(2, hours=6, days=(0, 2))
        [told] = found(busy, free)
        assert told.code == "rest_days_with_sport"
        assert told.sentence == "No day off this week for 1 child, with sport elsewhere."
        assert (told.level, told.found, told.who) == (Level.LOOK, 0, (1,))

    def test_one_day_off_is_enough_and_a_day_with_both_is_one_day(self):
        assert found(child(hours=6, days=(0, 1, 2, 3, 4, 5))) == []

    def test_other_groups_of_the_program_count_beside_it(self):
        # Monday and Wednesday elsewhere, Friday and Sunday in another group: no day is left.
        other = tuple(Elsewhere(on(each), 7, 0) for each in (4, 6))
        [told] = found(child(hours=6, days=(0, 2), elsewhere=other))
        assert told.who == (1,)

    def test_of_a_child_of_whom_nobody_has_said_nothing_is_told(self):
        assert found(child(hours=None)) == []

    def test_what_the_program_alone_fills_is_told_once_as_a_stop(self):
        week = CheckedWeek(MONDAY, WorkByDay(here(*range(7))), (child(hours=3, days=(0,)),))
        codes = [each.code for each in check_week(week)]
        assert "rest_days" in codes
        assert "rest_days_with_sport" not in codes


class TestHours:
    def test_hours_elsewhere_and_here_are_more_than_years_of_age(self):
        # 8.5 hours and three times 40 minutes, which are 2: 10.5 hours at ten years.
        [told] = found(child(hours=8.5))
        assert told.code == "sport_hours"
        assert told.sentence == (
            "10.5 hours of sport this week, with sport elsewhere: more than years of age for 1"
            " child."
        )
        assert (told.level, told.found, told.who) == (Level.LOOK, 0.5, (1,))
        assert told.source == JAYANTHI_2015

    def test_as_many_hours_as_years_are_not_told(self):
        # 8 and 2 hours at ten years; 9 and 2 at eleven.
        assert found(child(hours=8), child(2, hours=9, age=11)) == []

    def test_each_child_has_its_own_age_and_the_most_is_said(self):
        # At nine 8 and 2 hours are one too many, at twelve 13 and 2 three; at fifteen 13 are fine.
        told = found(
            child(1, age=9, hours=8), child(2, age=12, hours=13), child(3, age=15, hours=13)
        )
        assert [each.sentence for each in told] == [
            "Up to 15 hours of sport this week, with sport elsewhere: more than years of age for 2"
            " children."
        ]
        assert told[0].who == (1, 2)
        assert told[0].found == 3

    def test_minutes_in_another_group_are_hours_too(self):
        # 8, 2, and an hour on Friday: 11 hours at ten years.
        other = (Elsewhere(on(4), 7, 0, minutes=60),)
        [told] = found(child(elsewhere=other))
        assert told.found == 1

    def test_not_known_is_not_none_and_is_not_told(self):
        assert found(child(hours=None), work=here(0, 1, 2, 3, 4, minutes=130)) == []


def test_over_a_season_it_speaks_in_the_weeks_with_too_much_and_in_no_other():
    # Two hours here each week; elsewhere 6, 6, 9 (a tournament on four days), nothing in the
    # holidays, 6 and not known: 8, 8, 11, 2, 8 hours at ten years.
    weeks = [6.0, 6.0, 9.0, 0.0, 6.0, None]
    told = [
        bool(found(child(hours=each, days=(0, 2, 4, 6) if each == 9 else (0, 2) if each else ())))
        for each in weeks
    ]
    assert told == [False, False, True, False, False, False]
