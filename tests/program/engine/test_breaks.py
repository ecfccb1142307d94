"""Sessions around a break: worked by hand on a calendar, and true of any."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from program.engine.breaks import InBreak, Placed, clear, covers

MONDAY = dt.date(2026, 11, 2)
ENDS = MONDAY + dt.timedelta(days=27)  # four weeks


def day(number):
    return MONDAY + dt.timedelta(days=number)


def sessions(*days, **more):
    return [Placed(key, f"Session {key}", day(number), **more) for key, number in enumerate(days)]


def cleared(placed, first, last, way, ends_on=ENDS):
    return clear(placed, day(first), day(last), way, starts_on=MONDAY, ends_on=ends_on)


def to(result):
    return [(fate.to - MONDAY).days if fate.to else None for fate in result.fates]


def test_a_week_off_moves_its_sessions_and_all_after_by_one_week_and_the_block_grows():
    # Mondays of four weeks; the second week is off. 7 -> 14, 14 -> 21, 21 -> 28.
    result = cleared(sessions(0, 7, 14, 21), 7, 13, InBreak.LATER)
    assert to(result) == [14, 21, 28]
    assert result.ends_on == day(28)


def test_nine_days_off_take_two_weeks():
    # A Wednesday (9) within 7..15: one week on is 16, after the end. A Monday (7) needs two: 21.
    assert to(cleared(sessions(9), 7, 15, InBreak.LATER)) == [16]
    assert to(cleared(sessions(7, 9), 7, 15, InBreak.LATER)) == [21, 23]


def test_dropping_takes_out_what_lies_in_it_and_nothing_else():
    result = cleared(sessions(0, 7, 9, 14), 7, 13, InBreak.DROP)
    assert [(fate.placed.key, fate.to, fate.stays) for fate in result.fates] == [
        (1, None, ""),
        (2, None, ""),
    ]
    assert result.ends_on == ENDS


def test_what_is_published_stays_either_way():
    placed = sessions(7, is_published=True)
    for way in InBreak:
        (fate,) = cleared(placed, 7, 13, way).fates
        assert fate.stays.startswith("It is published")
        assert cleared(placed, 7, 13, way).changes == ()


def test_a_session_with_a_choice_for_a_single_child_moves_but_is_not_dropped():
    placed = sessions(7, has_choices=True)
    assert cleared(placed, 7, 13, InBreak.DROP).fates[0].stays.startswith("It holds a choice")
    assert to(cleared(placed, 7, 13, InBreak.LATER)) == [14]


def test_a_block_does_not_grow_beyond_26_weeks():
    last = 26 * 7
    result = cleared(sessions(7, last), 7, 13, InBreak.LATER, ends_on=day(last))
    assert to(result) == [14, None]
    assert result.fates[1].stays == "A block lasts at most 26 weeks, so it stays where it is."
    assert result.ends_on == day(last)


def test_an_untouched_block_stays_as_it_is():
    assert cleared(sessions(0, 14), 7, 13, InBreak.LATER).fates == ()


@given(
    st.lists(st.integers(0, 60), max_size=12),
    st.integers(0, 60),
    st.integers(0, 30),
)
def test_after_moving_nothing_lies_in_the_break_and_each_keeps_its_weekday(days, first, length):
    placed = sessions(*sorted(days))
    result = cleared(placed, first, first + length, InBreak.LATER, ends_on=day(60))
    for fate in result.fates:
        assert fate.to is not None
        assert fate.to.weekday() == fate.placed.day.weekday()
        assert not day(first) <= fate.to <= day(first + length)
    moved = [fate.to for fate in result.fates]
    assert moved == sorted(moved)


def test_days_are_covered_where_each_lies_in_one_of_several_breaks():
    monday, sunday = dt.date(2026, 12, 21), dt.date(2026, 12, 27)
    holidays = (dt.date(2026, 12, 23), dt.date(2027, 1, 3))
    days_away = (dt.date(2026, 12, 19), dt.date(2026, 12, 22))
    assert covers([holidays, days_away], monday, sunday)
    assert not covers([holidays], monday, sunday)
    assert not covers([], monday, sunday)
    # A day between them is free.
    assert not covers([holidays, (monday, monday)], monday, sunday)
