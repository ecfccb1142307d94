from hypothesis import given
from hypothesis import strategies as st

from program.engine.ratings import EQUAL, never_varies


def test_the_same_rating_eight_times_in_a_row_never_varies():
    """6 4 and then eight times 1: seven times 1 may be chance."""
    assert never_varies([6, 4, *[1] * 8])
    assert not never_varies([6, 4, *[1] * 7])


def test_a_child_whose_ratings_move_by_a_point_varies():
    assert not never_varies([5, 5, 6, 5, 5, 5, 4, 5, 5, 5])


def test_too_few_ratings_say_nothing():
    assert not never_varies([])
    assert not never_varies([1] * (EQUAL - 1))


@given(st.lists(st.integers(0, 10), max_size=20))
def test_one_other_rating_makes_a_row_vary(ratings):
    assert not never_varies([*ratings, 3, 4])
    assert never_varies([*ratings, *[3] * EQUAL])
