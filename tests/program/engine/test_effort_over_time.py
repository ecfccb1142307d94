"""What a row of effort ratings says: it stays high, it climbs, it is always the same."""

import random
from collections.abc import Callable, Sequence

from hypothesis import given
from hypothesis import strategies as st

from program.engine.ratings import (
    EQUAL,
    Climb,
    alike_at_the_end,
    climb_of,
    never_varies,
    stays_high,
)

SIX_WEEKS = 18
"""Training days in what is looked at, three a week."""


def speaks(rule, ratings: Sequence[int]) -> list[int]:
    """On which days of a season it speaks, counted from 0 and looked at after each."""
    days = range(len(ratings))
    return [day for day in days if rule(ratings[max(0, day + 1 - SIX_WEEKS) : day + 1])]


def test_six_days_at_eight_or_more_stay_high():
    """5 and then 8 9 8 10 8 9: six days of 8 or more. With a 7 among the last six they do not, and
    five days are too few."""
    assert stays_high([5, 8, 9, 8, 10, 8, 9])
    assert not stays_high([8, 9, 8, 7, 8, 9])
    assert not stays_high([8, 9, 8, 10, 8])


def test_a_hard_fortnight_in_a_season_speaks_and_a_season_of_hard_days_between_does_not():
    steady = [5, 6, 5, 4, 6, 5]
    assert speaks(stays_high, [*steady, 8, 8, 9, 8, 9, 8, *steady]) == [11]
    assert speaks(stays_high, [8, 9, 5] * 12) == []


def test_a_climb_is_the_mean_of_the_first_four_days_against_the_last_four():
    """3 4 3 4 are 3.5 on average and 6 6 7 5 are 6: 2.5 more, which is a climb. With 5 for the
    first 6 the last four are 5.75, and 2.25 more is none. Nine days are too few."""
    assert climb_of([3, 4, 3, 4, 5, 5, 6, 6, 7, 5]) == Climb(before=3.5, now=6.0)
    assert climb_of([3, 4, 3, 4, 5, 5, 5, 6, 7, 5]) is None
    assert climb_of([3, 4, 3, 4, 5, 6, 6, 7, 5]) is None


def test_a_block_from_three_to_nine_speaks_and_a_season_that_wanders_does_not():
    """On the eleventh day 3 3 4 4 are 3.5 and 5 6 6 6 are 5.75: not yet. On the twelfth 6 6 6 7 are
    6.25, 2.75 more."""
    block = [3, 3, 4, 4, 4, 5, 5, 5, 6, 6, 6, 7, 7, 7, 8, 8, 8, 9]
    assert speaks(climb_of, block) == [11, 12, 13, 14, 15, 16, 17]
    assert speaks(climb_of, [4, 5, 6, 5, 4, 5, 6, 5] * 5) == []


@given(st.lists(st.integers(0, 10), max_size=20), st.integers(1, 4))
def test_what_is_rated_higher_throughout_climbs_as_before_and_stays_high_as_well(ratings, more):
    higher = [rating + more for rating in ratings]
    assert (climb_of(ratings) is None) == (climb_of(higher) is None)
    assert stays_high(higher) or not stays_high(ratings)


def test_how_often_an_unchanged_child_is_called_out_in_a_season():
    """48 days (three a week for 16 weeks), each rating the child's own mean and a wandering of SD
    1, rounded; looked at after each day. At most 5 of 100 seasons of a child with a mean up to 7
    may be called out; a child at 8.5, and a climb from 3 to 9 within 18 days, must be seen."""
    chance = random.Random(2026)

    def season(mean: Callable[[int], float], days: int) -> list[int]:
        return [max(0, min(10, round(chance.gauss(mean(day), 1)))) for day in range(days)]

    def share(rule, mean, days=48) -> float:
        return sum(bool(speaks(rule, season(mean, days))) for _ in range(400)) / 400

    for_nothing = {f"high, mean {m}": share(stays_high, lambda _, m=m: m) for m in (5, 6, 7)}
    for_nothing |= {f"climb, mean {m}": share(climb_of, lambda _, m=m: m) for m in (3, 5, 7)}
    seen = {f"high, mean {m}": share(stays_high, lambda _, m=m: m) for m in (8, 8.5)}
    seen["climb, 3 to 9 in 18 days"] = share(climb_of, lambda day: 3 + day / 17 * 6, 18)
    seen["climb, 3 to 6 in 24 days"] = share(climb_of, lambda day: 3 + day / 23 * 3, 24)
    print({"for nothing": for_nothing, "seen": seen})
    assert max(for_nothing.values()) <= 0.05
    assert seen["high, mean 8.5"] >= 0.95
    assert seen["climb, 3 to 9 in 18 days"] >= 0.95


def test_twelve_ones_are_twelve_alike():
    assert alike_at_the_end([4, *[1] * 12]) == 12
    assert alike_at_the_end([]) == 0


@given(st.lists(st.integers(0, 10), max_size=20))
def test_how_many_of_the_last_ratings_are_alike(ratings):
    alike = alike_at_the_end(ratings)
    assert len(set(ratings[len(ratings) - alike :])) <= 1
    assert alike_at_the_end([*ratings, 11]) == 1
    assert never_varies(ratings) == (alike >= EQUAL)
