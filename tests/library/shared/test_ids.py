import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.shared.ids import MOST, whole_number


@given(st.integers(0, MOST))
def test_a_number_in_digits_is_that_number(number):
    assert whole_number(str(number)) == number


@pytest.mark.parametrize(
    "text", [None, "", "-1", "+1", "1.0", "1e5", " 1", "٣", "x", "\0", str(MOST + 1), "9" * 5000]
)
def test_anything_else_is_none(text):
    assert whole_number(text) is None


@given(st.text())
def test_no_text_is_too_odd_to_read(text):
    assert whole_number(text) is None or str(int(text)) == text.lstrip("0") or int(text) == 0


def test_what_is_above_the_most_is_none():
    assert (whole_number("10", most=9), whole_number("9", most=9)) == (None, 9)
