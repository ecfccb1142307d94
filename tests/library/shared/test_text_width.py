"""Widths against the font file's own advances, written down by hand from its metrics table."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.shared.text_width import least_width, text_width, wrap

LABELS = st.text(alphabet="abcdefg hijklmno pqrstuvwxyz WM-&’", min_size=1, max_size=40)


def test_a_label_is_as_wide_as_its_letters_and_a_little_for_rounding() -> None:
    # r 349, o 548, w 684 thousandths of an em; bold r 376, o 576, w 740
    assert text_width("row") == pytest.approx(1.581 * 1.02)
    assert text_width("row", strong=True) == pytest.approx(1.692 * 1.02)


def test_a_letter_the_table_lacks_counts_as_a_capital() -> None:
    assert text_width("ž") == pytest.approx(0.76 * 1.02)


def test_a_label_breaks_between_words_only() -> None:
    assert wrap("hinge and reach", 100) == ("hinge and reach",)
    assert wrap("hinge and reach", text_width("hinge and")) == ("hinge and", "reach")
    assert wrap("hinge and reach", 0.1) == ("hinge", "and", "reach")


def test_a_no_break_space_keeps_a_figure_whole() -> None:
    assert wrap("8\u00a0·\u00a09 Monday", 0.1) == ("8\u00a0·\u00a09", "Monday")
    assert text_width("8\u00a09") == text_width("8 9")


def test_the_least_width_is_that_of_the_best_break() -> None:
    assert least_width("hinge and reach", 1) == text_width("hinge and reach")
    assert least_width("hinge and reach", 2) == text_width(
        "and reach"
    )  # 4 units less than "hinge and"
    assert least_width("hinge and reach", 3) == text_width("hinge")
    assert least_width("", 2) == 0


@given(LABELS, st.integers(1, 3))
def test_at_its_least_width_a_label_stands_on_that_many_lines(text: str, lines: int) -> None:
    width = least_width(text, lines)
    broken = wrap(text, width)
    assert len(broken) <= lines
    assert all(text_width(line) <= width for line in broken)
