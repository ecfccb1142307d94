"""Two sessions of one day are one day."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from program.engine.days import hardest_of_each_day

MONDAY = dt.date(2026, 9, 7)


def days(*rated: tuple[int, int]) -> list[tuple[int, int]]:
    """By day of the month of September, which is given in any order."""
    return hardest_of_each_day(rated, lambda each: dt.date(2026, 9, each[0]), lambda each: each[1])


def test_the_harder_session_stands_for_its_day():
    """On the 8th 4 in the hall and 7 at home: one day of 7 between one of 5 and one of 3."""
    assert days((9, 3), (8, 4), (7, 5), (8, 7)) == [(7, 5), (8, 7), (9, 3)]


def test_days_of_one_session_each_stay_as_they_are():
    assert days((7, 5), (8, 4), (10, 9)) == [(7, 5), (8, 4), (10, 9)]


SEASON = st.lists(st.tuples(st.integers(1, 30), st.integers(0, 10)), max_size=25)


@given(SEASON, st.randoms())
def test_the_order_in_which_they_are_told_changes_nothing(season, chance):
    shuffled = season.copy()
    chance.shuffle(shuffled)
    assert days(*shuffled) == days(*season)


@given(SEASON, st.integers(1, 30))
def test_an_easier_session_beside_another_changes_nothing(season, day):
    beside = [(day, 10), *season]
    assert days(*beside, (day, 4)) == days(*beside)
