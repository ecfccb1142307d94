from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.common.lanes import (
    WORDS_OF_FIT,
    Amount,
    Day,
    Evidence,
    PartTime,
    bars,
    evidence_lane,
    fit_bar,
    mark_of,
    session_lane,
    week_lane,
)

PARTS = [PartTime("warm-up", 360), PartTime("step & row", 420), PartTime("hinge", 320)]
MONDAY = date(2026, 11, 23)


@pytest.mark.parametrize(
    ("state", "on", "mark"),
    [
        ("done", MONDAY, "done"),
        ("some", MONDAY, "half"),
        ("not", MONDAY, "missed"),
        ("not", MONDAY + timedelta(days=1), "missed"),
        ("", MONDAY - timedelta(days=1), "missed"),
        (None, MONDAY - timedelta(days=1), "missed"),
        ("", MONDAY, "not_yet"),
        (None, MONDAY + timedelta(days=1), "not_yet"),
    ],
)
def test_a_session_is_marked_by_its_log_and_without_one_by_its_day(state, on, mark) -> None:
    assert mark_of(state, on, MONDAY) == mark


def test_parts_are_as_long_as_they_last() -> None:
    assert [cell.weight for cell in session_lane("Today", PARTS).cells] == [360, 420, 320]


def test_the_first_part_names_the_unit_and_the_rest_are_numbers() -> None:
    drawn = session_lane("Today", PARTS)
    assert [cell.head for cell in drawn.cells] == ["6 min", "7", "5"]
    assert [cell.words for cell in drawn.cells] == [
        "warm-up 6 min", "step & row 7 min", "hinge 5 min",
    ]  # fmt: skip


def test_a_part_shorter_than_a_minute_still_says_one() -> None:
    (breather,) = session_lane("Today", [PartTime("breather", 20)]).cells
    assert breather.words == "breather 1 min"


def test_the_part_meant_now_is_tinted() -> None:
    tints = [cell.tint for cell in session_lane("Today", PARTS, tinted=1).cells]
    assert tints == ["", "good", ""]


def test_a_week_shows_letters_marks_and_today() -> None:
    days = [Day(MONDAY + timedelta(n)) for n in range(7)]
    days[0] = Day(MONDAY, ("done",), "/session/")
    drawn = week_lane("Mira’s week", days, today=MONDAY + timedelta(4))
    assert [cell.head or cell.label for cell in drawn.cells] == list("MTWTFSS")
    assert [cell.tint for cell in drawn.cells] == ["", "", "", "", "good", "", ""]
    assert drawn.cells[0].words == "Monday 23, done"
    assert drawn.cells[0].href == "/session/"
    assert drawn.cells[4].words == "Friday 27, today"
    assert len({share for share, _ in drawn.stretches}) == 1


def test_evidence_stands_in_the_order_it_was_seen() -> None:
    drawn = evidence_lane(
        "Step down",
        [
            Evidence("8 · 8", "Mon, effort 5"),
            Evidence("8 · 8", "Wed, effort 4"),
            Evidence("10 · 9", "Fri, effort 4"),
            Evidence("both sides, twice over", "the step’s own test", "good"),
        ],
    )
    assert [cell.head for cell in drawn.cells] == [
        "8\u00a0·\u00a08",
        "8\u00a0·\u00a08",
        "10\u00a0·\u00a09",
        "both sides, twice over",
    ]
    assert drawn.cells[3].tint == "good"


def test_shares_of_children_in_their_order_with_words() -> None:
    bar = fit_bar({"undecided": 5, "as_written": 75, "easier": 20})
    assert [(s.kind, s.x, s.width) for s in bar.shares] == [
        ("as_written", 0, 75),
        ("easier", 75, 20),
        ("undecided", 95, 5),
    ]
    assert bar.sentence == "75 as written, 20 easier, 5 to decide"


def test_one_child_of_many_is_still_seen() -> None:
    bar = fit_bar({"as_written": 299, "undecided": 1})
    assert bar.shares[1].width == pytest.approx(100 * 3 / (100 * 299 / 300 + 3), abs=0.01)
    assert bar.words[1] == ("undecided", "1 to decide")


def test_nobody_yet_is_an_empty_bar() -> None:
    assert fit_bar({}).shares == ()
    assert fit_bar({"easier": 0}).words == ()


def test_a_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        fit_bar({"easier": -1})


@given(st.dictionaries(st.sampled_from(list(WORDS_OF_FIT)), st.integers(0, 500)))
def test_shares_fill_the_bar_without_overlap(counts: dict) -> None:
    end = 0.0
    for share in (bar := fit_bar(counts)).shares:
        assert share.x == pytest.approx(end, abs=0.03)
        assert share.width >= 2.5
        end = share.x + share.width
    assert end == pytest.approx(100 if bar.shares else 0, abs=0.05)


def test_the_largest_amount_fills_the_row_and_the_others_follow() -> None:
    drawn = bars(
        [Amount("one-leg", 48, "48"), Amount("push", 0, "0", True), Amount("pull", 12, "12")]
    )
    assert [bar.percent for bar in drawn] == [100, 0, 25]
    assert [bar.flagged for bar in drawn] == [False, True, False]


def test_amounts_of_nothing_draw_nothing() -> None:
    assert [bar.percent for bar in bars([Amount("push", 0, "0")])] == [0]
    assert bars([]) == ()
