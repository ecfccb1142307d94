"""The checks of a week and of a block, with weeks added up by hand."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.checks import (
    CheckedBlock,
    CheckedChild,
    CheckedWeek,
    CheckResult,
    DayOfWork,
    Elsewhere,
    Level,
    Limit,
    Setting,
    WorkByDay,
    check_block,
    check_week,
)
from program.engine.checks.block import LIGHTER, heavy_stretches
from program.engine.checks.rules import BRENNER_2024
from program.engine.dose.dose import Dose, Measure, Sides
from program.engine.volume import Volume, VolumeSlot, volume

MONDAY = dt.date(2026, 11, 23)
SQUATS = VolumeSlot("squat", Dose(Measure.REPETITIONS, 8), 2)
BALANCED = tuple(
    VolumeSlot(pattern, Dose(Measure.REPETITIONS, 8), 2)
    for pattern in ("push", "pull", "squat", "hinge", "front_brace")
)


def day(plus: int, *slots: VolumeSlot) -> DayOfWork:
    """A session so many days after the Monday of the week."""
    return DayOfWork(MONDAY + dt.timedelta(days=plus), volume(slots or BALANCED))


def found(*work: DayOfWork, ceilings=(60,), settings=None) -> list[tuple[str, str]]:
    children = tuple(CheckedChild(key, each) for key, each in enumerate(ceilings))
    told = check_week(CheckedWeek(MONDAY, WorkByDay(work), children), settings or {})
    return [(each.code, each.sentence) for each in told]


def codes(*work: DayOfWork, **more) -> set[str]:
    return {code for code, _ in found(*work, **more)}


def test_three_balanced_days_with_rest_between_give_nothing_to_look_at():
    assert found(day(0), day(2), day(4)) == []


def test_a_week_without_work_is_not_judged():
    assert found() == found(day(-3), day(-5)) == []


class TestDays:
    def test_four_strength_days_with_two_in_a_row(self):
        assert found(day(0), day(1), day(3), day(5)) == [
            ("strength_days", "4 strength days this week; at most 3 are usual."),
            ("consecutive_days", "Two strength days in a row; a day between them is usual."),
        ]

    def test_two_sessions_on_one_day_are_one_day(self):
        assert found(day(0), day(0), day(2), day(4)) == []

    def test_mobility_and_crawling_are_days_but_not_strength_days(self):
        gentle = VolumeSlot("mobility", Dose(Measure.REPETITIONS, 6), 1)
        assert found(day(0), day(1, gentle), day(2), day(3, gentle), day(4)) == []

    def test_a_sunday_before_and_a_monday_are_in_a_row(self):
        assert codes(day(-1), day(0)) == {"consecutive_days"}
        assert codes(day(-2), day(0)) == set()

    def test_a_week_without_a_day_off_is_a_stop_and_says_where_that_comes_from(self):
        week = CheckedWeek(MONDAY, WorkByDay(day(plus) for plus in range(7)))
        expected = CheckResult(
            "rest_days", Level.STOP, "No day off this week.", BRENNER_2024, 0, Limit(1, None)
        )
        assert check_week(week)[0] == expected

    def test_a_program_may_want_two_days_off(self):
        six_days = [day(plus) for plus in range(6)]
        assert "rest_days" not in codes(*six_days)
        two = {"rest_days": Setting(limit=Limit(least=2))}
        assert ("rest_days", "Only 1 day off this week.") in found(*six_days, settings=two)


class TestMissingWork:
    def test_two_weeks_without_pushing_want_a_look(self):
        no_push = [slot for slot in BALANCED if slot.pattern != "push"]
        assert found(day(-7, *no_push), day(0, *no_push)) == [
            ("missing_work", "No pushing for two weeks.")
        ]
        assert found(day(-7), day(0, *no_push)) == []
        assert found(day(-7, *no_push), day(0)) == []

    def test_before_two_weeks_are_written_nothing_is_missing(self):
        assert found(day(0, SQUATS)) == []

    def test_a_hinge_or_a_hamstring_slide_is_enough_hip_work(self):
        slides = [
            VolumeSlot("hamstring_slide" if each.pattern == "hinge" else each.pattern, each.dose, 2)
            for each in BALANCED
        ]
        assert found(day(-7, *slides), day(0, *slides)) == []


def crawl(seconds: int, rounds: int = 2) -> VolumeSlot:
    return VolumeSlot("crawl", Dose(Measure.SECONDS, seconds), rounds)


class TestVolumeJump:
    def test_half_as_much_again_is_no_jump_and_more_is(self):
        # 2 × 20 s, then 2 × 30 s: half as much again. 2 × 31 s: 55 % more.
        assert found(day(-7, *BALANCED, crawl(20)), day(0, *BALANCED, crawl(30))) == []
        assert found(day(-7, *BALANCED, crawl(20)), day(0, *BALANCED, crawl(31))) == [
            (
                "volume_jump",
                "Crawl: 62 seconds of holds and bouts this week, after at most 40 in the two weeks"
                " before.",
            )
        ]

    def test_a_pattern_is_told_once_with_its_sets_first(self):
        # 2 sets of 8, then 4: sets and repetitions have both doubled.
        more = [VolumeSlot("push", Dose(Measure.REPETITIONS, 8), 4), *BALANCED[1:]]
        assert found(day(-7), day(0, *more)) == [
            ("volume_jump", "Push: 4 sets this week, after at most 2 in the two weeks before.")
        ]

    def test_the_week_after_a_lighter_one_is_held_against_the_one_before_it(self):
        full, light = [*BALANCED, crawl(30)], [*BALANCED, crawl(15)]
        assert found(day(-14, *full), day(-7, *light), day(0, *full)) == []
        assert codes(day(-7, *light), day(0, *full)) == {"volume_jump"}

    def test_what_is_new_this_week_has_not_jumped(self):
        assert found(day(-7), day(0, *BALANCED, crawl(60))) == []

    def test_mobility_may_grow_as_it_likes(self):
        more = VolumeSlot("mobility", Dose(Measure.REPETITIONS, 20), 3)
        less = VolumeSlot("mobility", Dose(Measure.REPETITIONS, 4), 1)
        assert found(day(-7, *BALANCED, less), day(0, *BALANCED, more)) == []


def hops(amount: int) -> VolumeSlot:
    return VolumeSlot("land", Dose(Measure.REPETITIONS, amount, Sides.EACH, contacts=1), 3)


def hopping(amount: int, *days: int) -> list[DayOfWork]:
    """Days with 3 × so many × 2 feet."""
    return [day(plus, *BALANCED, hops(amount)) for plus in days]


class TestLandingFromNothing:
    def test_sixty_on_each_of_two_days_is_a_start_and_more_is_not(self):
        # 3 × 10 × 2 feet = 60 a day, 120 in the week; 3 × 12 × 2 = 72 a day and 216 on three.
        assert found(*hopping(10, 0, 3)) == []
        start = "72 ground contacts on one day, after two weeks without any; at most 60 are usual"
        assert found(*hopping(12, 0, 2, 4), ceilings=(100,)) == [
            ("landing_start", f"{start} to begin with.")
        ]

    def test_a_third_day_of_sixty_is_more_than_a_start(self):
        assert found(*hopping(10, 0, 2, 4)) == [
            (
                "landing_start",
                "180 ground contacts this week, after two weeks without any; at most 120, on two"
                " days, are usual to begin with.",
            )
        ]

    def test_two_weeks_without_are_nothing_and_one_is_not(self):
        """Three days of 60 three weeks ago: those two weeks since are empty; two weeks ago they are
        within, and 180 is then no more than before."""
        week = hopping(10, 0, 2, 4)
        dry = [day(plus) for plus in (-14, -12, -10, -7, -5, -3)]
        assert codes(*hopping(10, -21, -19, -17), *dry, *week) == {"landing_start"}
        assert codes(*hopping(10, -14, -12, -10), *dry[3:], *week) == set()

    def test_a_program_may_begin_lower(self):
        thirty = {"landing_start": Setting(limit=Limit(most=30))}
        assert codes(*hopping(6, 0, 3), settings=thirty) == {"landing_start"}

    def test_who_was_away_begins_again_though_the_group_does_not(self):
        """The group has had 180 a week; one of three was not there for two weeks."""
        work = (*hopping(10, -14, -12, -10), *hopping(10, -7, -5, -3), *hopping(10, 0, 2, 4))
        back = {MONDAY + dt.timedelta(days=plus): 60.0 for plus in (0, 2, 4)}
        children = (CheckedChild(1, 60), CheckedChild(2, 60), CheckedChild(3, 60, landings=back))
        (told,) = check_week(CheckedWeek(MONDAY, WorkByDay(work), children))
        assert told.sentence == (
            "180 ground contacts this week for 1 of 3 children, after two weeks without any; at"
            " most 120, on two days, are usual to begin with."
        )
        assert (told.code, told.found, told.who) == ("landing_start", 180, (3,))

    def test_who_lands_elsewhere_does_not_begin_from_nothing(self):
        before = {MONDAY - dt.timedelta(days=3): 40.0, MONDAY: 72.0}
        children = (CheckedChild(1, 100, landings=before),)
        week = CheckedWeek(MONDAY, WorkByDay(hopping(12, 0)), children)
        assert "landing_start" not in {each.code for each in check_week(week)}


class TestLandingDaysInARow:
    def test_four_days_one_after_the_other_are_told_and_days_between_are_not(self):
        few = [day(plus, hops(2)) for plus in (0, 1, 2, 3)]
        assert found(*few) == [
            ("landing_days", "4 landing days in a row; a day between them is usual.")
        ]
        assert found(day(0, hops(2)), day(2, hops(2)), day(4, hops(2))) == []

    def test_over_the_weeks_edge_they_go_on(self):
        few = [day(plus, hops(2)) for plus in (-2, -1, 0)]
        assert ("landing_days", "3 landing days in a row; a day between them is usual.") in found(
            *few
        )
        assert "landing_days" not in codes(day(-2, hops(2)), day(0, hops(2)))

    def test_a_child_of_two_groups_lands_on_days_that_neither_has_in_a_row(self):
        work = tuple(day(plus, hops(2)) for plus in (0, 2))
        both = {MONDAY + dt.timedelta(days=plus): 12.0 for plus in (0, 1, 2, 3)}
        gymnasts = (beside(1, 12), beside(3, 12))
        children = (CheckedChild(1, 60), CheckedChild(2, 60, gymnasts, landings=both))
        (told,) = check_week(CheckedWeek(MONDAY, WorkByDay(work), children))
        assert told.sentence == (
            "4 landing days in a row for 1 of 2 children; a day between them is usual."
        )
        assert (told.who, told.groups) == ((2,), (GYMNASTS,))

    def test_a_program_may_let_two_pass(self):
        two = {"landing_days": Setting(limit=Limit(most=2))}
        assert found(day(0, hops(2)), day(1, hops(2)), settings=two) == []
        told = found(*[day(plus, hops(2)) for plus in (0, 1, 2)], settings=two)
        assert told == [("landing_days", "3 landing days in a row; at most 2 is usual.")]


def pushes(sets: int) -> VolumeSlot:
    return VolumeSlot("push", Dose(Measure.REPETITIONS, 8), sets)


NO_PUSH = BALANCED[1:]


class TestCreeping:
    def weeks(self, *sets: int) -> list[DayOfWork]:
        """One day a week with so many sets of pushing, the last of them this week."""
        last = len(sets) - 1
        return [day(7 * (n - last), *NO_PUSH, pushes(each)) for n, each in enumerate(sets) if each]

    def test_a_little_more_every_week_adds_up(self):
        # 8 after 6 is a third more, 11 after 8 three eighths, 15 after 11 four elevenths. The mean
        # of 6, 8 and 11 is 8.33, and 15 is 80 % more than that.
        assert found(*self.weeks(6, 8, 11)) == []
        assert found(*self.weeks(6, 8, 11, 15)) == [
            (
                "creeping",
                "Push: 15 sets this week, after 8.3 a week on average in the weeks before.",
            )
        ]

    def test_half_as_much_again_as_the_mean_is_usual(self):
        # The mean of 8, 10 and 12 is 10: 15 is half as much again.
        assert found(*self.weeks(8, 10, 12, 15)) == []
        assert codes(*self.weeks(8, 10, 12, 16)) == {"creeping"}

    def test_a_lighter_week_between_hides_nothing(self):
        # 15 after at most 11 in two weeks is 36 % more; the mean of 6, 8, 11 and 6 is 7.75.
        assert codes(*self.weeks(6, 8, 11, 6, 15)) == {"creeping"}

    def test_what_one_would_begin_with_is_never_too_much(self):
        # The mean of 4, 5 and 7 is 5.33: 9 is 69 % more, and no more than a start may be.
        assert found(*self.weeks(4, 5, 7, 9)) == []

    def test_a_week_without_counts_for_no_mean_and_two_weeks_are_none(self):
        assert found(*self.weeks(0, 8, 11, 15)) == []
        assert codes(*self.weeks(6, 8, 0, 11, 15)) == {"creeping"}

    def test_what_is_suddenly_more_is_a_jump_and_no_creeping(self):
        assert codes(*self.weeks(8, 8, 8, 13)) == {"volume_jump"}

    def test_a_child_creeps_up_that_the_group_does_not(self):
        """The group has had 11 all along; one child had less of it, and a little more each week."""
        own = WorkByDay(self.weeks(6, 8, 11, 15))
        children = (CheckedChild(1, 60), CheckedChild(2, 60, work=own))
        (told,) = check_week(CheckedWeek(MONDAY, WorkByDay(self.weeks(15, 15, 15, 15)), children))
        assert (told.code, told.who) == ("creeping", (2,))
        assert told.sentence == (
            "Push: 15 sets this week for 1 child, after 8.3 a week on average in the weeks before."
        )


class TestAPatternFromNothing:
    def test_nine_sets_are_a_start_and_ten_are_not(self):
        assert found(day(-7, *NO_PUSH), day(0, *NO_PUSH, pushes(9))) == []
        assert found(day(-7, *NO_PUSH), day(0, *NO_PUSH, pushes(10))) == [
            (
                "pattern_start",
                "Push: 10 sets this week, after two weeks without any; at most 9 are usual to begin"
                " with.",
            )
        ]

    def test_after_one_week_without_it_is_held_against_the_one_before(self):
        assert found(day(-14, *NO_PUSH, pushes(10)), day(-7, *NO_PUSH), day(0, pushes(10))) == []

    def test_a_child_who_was_ill_for_two_weeks_begins_again(self):
        work = [*NO_PUSH, pushes(10)]
        children = (CheckedChild(1, 60), CheckedChild(2, 60, work=WorkByDay([day(0, *work)])))
        days = (day(-14, *work), day(-7, *work), day(0, *work))
        (told,) = check_week(CheckedWeek(MONDAY, WorkByDay(days), children))
        assert (told.code, told.who, told.found) == ("pattern_start", (2,), 10)
        assert told.sentence == (
            "Push: 10 sets this week for 1 child, after two weeks without any; at most 9 are usual"
            " to begin with."
        )


def test_children_with_the_same_days_are_one_sentence_and_one_sum():
    own = WorkByDay([day(0, *NO_PUSH, pushes(10))])
    children = (CheckedChild(1, 60, work=own), CheckedChild(2, 60, work=own), CheckedChild(3, 60))
    week = CheckedWeek(MONDAY, WorkByDay([day(-7), day(0)]), children)
    assert [len(who) for _, who in week.own_work] == [2]
    (told,) = check_week(week)
    assert (told.code, told.who) == ("pattern_start", (1, 2))


def test_a_child_may_jump_where_the_group_does_not():
    """Eight sets of pushing here and two elsewhere are ten, after two; nine would be a start."""

    def told(elsewhere: int):
        here = [*NO_PUSH, pushes(8)]
        own = WorkByDay([day(-7), day(0, *here), day(1, pushes(elsewhere))])
        children = (CheckedChild(1, 60), CheckedChild(2, 60, (beside(1),), work=own))
        group = WorkByDay([day(-7, *here), day(0, *here)])
        return check_week(CheckedWeek(MONDAY, group, children))

    assert told(1) == ()
    (jump,) = told(2)
    assert (jump.code, jump.who, jump.groups) == ("volume_jump", (2,), (GYMNASTS,))
    assert jump.sentence == (
        "Push: 10 sets this week for 1 child, after at most 2 in the two weeks before."
    )


def test_what_is_told_of_the_group_is_not_told_of_its_children_again():
    own = WorkByDay([day(-7), day(0, *NO_PUSH, pushes(11))])
    children = (CheckedChild(1, 60), CheckedChild(2, 60, work=own))
    work = (day(-7), day(0, *NO_PUSH, pushes(10)))
    (jump,) = check_week(CheckedWeek(MONDAY, WorkByDay(work), children))
    assert jump.sentence == "Push: 10 sets this week, after at most 2 in the two weeks before."


@given(st.sets(st.integers(-9, 6)))
def test_the_longest_row_of_landing_days_is_the_longest_that_ends_in_the_week(days):
    """Every row of days, tried one by one."""
    landed = {MONDAY + dt.timedelta(days=plus): 6.0 for plus in days}
    rows = (
        last - first + 1
        for last in range(7)
        for first in range(-9, last + 1)
        if days.issuperset(range(first, last + 1))
    )
    longest = max(rows, default=0)
    work = (day(3),)
    told = check_week(
        CheckedWeek(MONDAY, WorkByDay(work), (CheckedChild(1, 600, landings=landed),))
    )
    found = [each.found for each in told if each.code == "landing_days"]
    assert found == ([longest] if longest > 1 else [])


class TestContactsOfAWeek:
    def test_three_sessions_worth_is_usual_and_a_growth_spurt_halves_it(self):
        # 3 × 10 × 2 feet = 60 a session, three times 60 = 180; a seven-year-old's 60 gives 180,
        # in a growth spurt 30 gives 90. The week before was the same.
        week = hopping(10, -7, -5, -3, 0, 2, 4)
        assert found(*week, ceilings=(60,)) == []
        assert found(*week, ceilings=(60, 30)) == [
            (
                "week_contacts",
                "180 ground contacts this week: more than is usual for 1 of 2 children, the lowest"
                " at 90.",
            )
        ]

    def test_a_program_may_want_less_of_it(self):
        # Twice 60 is 120, which 180 is over.
        week = hopping(10, -7, -5, -3, 0, 2, 4)
        twice = {"week_contacts": Setting(limit=Limit(most=200))}
        assert codes(*week, ceilings=(60,), settings=twice) == {"week_contacts"}

    def test_without_children_there_is_no_ceiling(self):
        assert "week_contacts" not in codes(day(0, *BALANCED, hops(60)), ceilings=())


def week_of(sets: int) -> Volume:
    slot = VolumeSlot("squat", Dose(Measure.REPETITIONS, 8), 1)
    other = VolumeSlot("hinge", Dose(Measure.REPETITIONS, 8), 1)
    return volume([slot] * sets + [other] * sets)


def of_block(*sets: int, settings=None) -> list[tuple[str, str]]:
    told = check_block(CheckedBlock(tuple(map(week_of, sets))), settings or {})
    return [(each.code, each.sentence) for each in told]


class TestOverABlock:
    def test_seven_weeks_without_a_lighter_one_are_noted(self):
        assert of_block(5, 5, 6, 6, 6, 6) == []
        assert of_block(5, 5, 6, 6, 6, 6, 6) == [
            (
                "lighter_week",
                "Weeks 1 to 7 have no lighter week among them; one after at most 6 is usual.",
            )
        ]

    def test_four_fifths_of_the_heaviest_is_a_lighter_week(self):
        assert of_block(5, 5, 5, 4, 5, 5, 5, 4) == []
        assert len(of_block(50, 50, 50, 41, 50, 50, 50, 41)) == 1

    def test_a_week_away_is_a_lighter_week(self):
        assert of_block(5, 5, 5, 0, 5, 5, 5) == []

    def test_a_program_may_want_a_lighter_week_sooner(self):
        three = {"lighter_week": Setting(limit=Limit(most=3))}
        assert len(of_block(5, 5, 5, 5, settings=three)) == 1

    def test_more_than_twice_the_pushing_of_the_pulling_is_noted(self):
        def block(push: int, pull: int) -> set[str]:
            push_slots = [VolumeSlot("push", Dose(Measure.REPETITIONS, 8), push)]
            pull_slots = [VolumeSlot("pull", Dose(Measure.REPETITIONS, 8), pull)]
            weeks = (volume(push_slots), volume(pull_slots))
            return {each.sentence for each in check_block(CheckedBlock(weeks))}

        assert block(6, 3) == set()
        assert block(7, 3) == {"Over the block 7 sets of pushing to 3 of pulling."}
        assert block(3, 7) == {"Over the block 3 sets of pushing to 7 of pulling."}

    def test_a_block_of_pushing_without_a_pull_is_noted(self):
        def sentences(*slots: VolumeSlot) -> list[str]:
            return [each.sentence for each in check_block(CheckedBlock((volume(slots),)))]

        # Five sets are too few to weigh.
        assert sentences(pushes(5)) == []
        assert sentences(pushes(6)) == ["Over the block 6 sets of pushing and none of pulling."]
        assert sentences(VolumeSlot("hinge", Dose(Measure.REPETITIONS, 8), 6)) == [
            "Over the block 6 sets of hip-dominant and none of knee-dominant."
        ]

    def test_knee_and_hip_are_weighed_the_same_way(self):
        weeks = (
            volume([VolumeSlot("squat", Dose(Measure.REPETITIONS, 8), 5)]),
            volume([VolumeSlot("hinge", Dose(Measure.REPETITIONS, 8), 2)]),
        )
        assert [each.sentence for each in check_block(CheckedBlock(weeks))] == [
            "Over the block 5 sets of knee-dominant to 2 of hip-dominant."
        ]

    def test_an_empty_block_says_nothing(self):
        assert check_block(CheckedBlock(())) == ()
        assert of_block(0, 0, 0) == []


@given(st.lists(st.integers(0, 40), max_size=26))
def test_stretches_are_apart_and_hold_every_week_that_is_not_lighter(sets):
    stretches = list(heavy_stretches(sets))
    inside = [week for first, last in stretches for week in range(first, last + 1)]
    assert inside == sorted(set(inside))
    for first, last in stretches:
        heaviest = 0
        for week in range(first, last + 1):
            assert sets[week - 1] > heaviest * LIGHTER
            heaviest = max(heaviest, sets[week - 1])
    outside = set(range(1, len(sets) + 1)) - set(inside)
    for week in outside:
        earlier = [sets[other - 1] for other in range(1, week)]
        assert sets[week - 1] <= max(earlier, default=0) * LIGHTER or sets[week - 1] == 0


@pytest.mark.parametrize("weeks", [1, 26])
def test_a_block_of_any_length_is_looked_at(weeks):
    assert [code for code, _ in of_block(*[5] * weeks)] == (["lighter_week"] if weeks > 6 else [])


GYMNASTS, SWIMMERS = 7, 8


def beside(plus: int, contacts: float = 0, group: int = GYMNASTS, is_strength: bool = False):
    return Elsewhere(MONDAY + dt.timedelta(days=plus), group, contacts, is_strength)


THREE_DAYS = (day(0), day(2), day(4))


def with_others(*elsewhere: Elsewhere, work=THREE_DAYS):
    """Of two children, the first has these sessions in other groups."""
    children = (CheckedChild(1, 60, elsewhere), CheckedChild(2, 60))
    return {each.code: each for each in check_week(CheckedWeek(MONDAY, WorkByDay(work), children))}


class TestOtherGroups:
    def test_a_child_that_has_no_day_off_over_all_its_groups_is_a_stop(self):
        """Runners on Monday, Wednesday and Friday; gymnasts on the four other days."""
        told = with_others(*map(beside, (1, 3, 5, 6)))
        assert set(told) == {"rest_days"}
        stop = told["rest_days"]
        assert (stop.level, stop.found, stop.who, stop.groups) == (Level.STOP, 0, (1,), (GYMNASTS,))
        assert (
            stop.sentence == "No day off this week for 1 child, with what it does in other groups."
        )

    def test_a_day_shared_by_two_groups_is_one_day(self):
        """Six days, one of them with both: a day is left."""
        assert with_others(beside(0), beside(1), beside(3), beside(5)) == {}

    def test_last_weeks_and_next_weeks_days_are_not_this_weeks(self):
        assert with_others(*map(beside, (-1, 1, 3, 5, 7))) == {}

    def test_the_weeks_landings_are_added_up_over_all_groups(self):
        """Three times sixty are 180: 100 here and 81 elsewhere are 181, 80 are 180."""
        hops = VolumeSlot("calf_ankle", Dose(Measure.REPETITIONS, 50, contacts=1), 2)
        week = {"work": (day(0, *BALANCED, hops),)}
        assert "week_contacts" not in with_others(beside(1, 40), beside(3, 40, SWIMMERS), **week)
        told = with_others(beside(1, 41), beside(3, 40, SWIMMERS), **week)["week_contacts"]
        assert told.sentence == (
            "100 ground contacts here and up to 81 in other groups this week: more than is usual "
            "for 1 child."
        )
        assert (told.who, told.groups) == ((1,), (GYMNASTS, SWIMMERS))

    def test_strength_the_day_after_in_another_group_is_in_a_row(self):
        told = with_others(beside(1, is_strength=True))
        assert told["consecutive_days"].sentence == (
            "Two strength days in a row for 1 child, with what it does in other groups; a day "
            "between them is usual."
        )
        assert told["consecutive_days"].who == (1,)
        assert with_others(beside(1)) == {}
        assert "consecutive_days" in with_others(beside(-1, is_strength=True))

    def test_two_days_in_a_row_of_the_other_group_alone_are_its_own_coachs_to_see(self):
        both = (beside(4, is_strength=True), beside(5, is_strength=True))
        assert with_others(*both, work=(day(0),)) == {}
