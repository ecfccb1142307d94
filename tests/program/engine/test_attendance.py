import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.attendance import (
    Adherence,
    CouldNot,
    Due,
    InTheHall,
    adherence,
    in_the_hall,
    silent_run,
    told,
)

FRIDAY = dt.date(2026, 11, 6)


def due(*told) -> list[Due]:
    """Sessions every second day, the last one the day before yesterday."""
    days = [FRIDAY - dt.timedelta(days=2 * n) for n in range(len(told), 0, -1)]
    return [Due(n, day, each) for n, (day, each) in enumerate(zip(days, told, strict=True))]


@pytest.mark.parametrize(
    ("told", "run"),
    [
        (("done", "", ""), (1, 2)),
        (("", "done", ""), ()),
        (("done", ""), ()),
        (("done", "", "some"), ()),
        (("", "", ""), (0, 1, 2)),
        ((), ()),
    ],
)
def test_two_silent_sessions_since_the_last_one_done_are_a_run(told, run):
    assert tuple(each.key for each in silent_run(due(*told), FRIDAY)) == run


def test_a_cold_that_was_told_is_no_miss_and_does_not_end_the_silence():
    assert silent_run(due("done", "", "not"), FRIDAY) == ()
    assert silent_run(due("done", "not", "not"), FRIDAY) == ()
    assert [each.key for each in silent_run(due("done", "", "not", ""), FRIDAY)] == [1, 2, 3]


def test_yesterdays_session_may_still_be_logged_and_counts_once_it_is():
    yesterday = FRIDAY - dt.timedelta(days=1)
    assert silent_run([*due("done", ""), Due(9, yesterday, "")], FRIDAY) == ()
    found = adherence([Due(9, yesterday, "")], FRIDAY)
    assert (found, found.given, found.counted) == (Adherence(fresh=1), 1, 0)
    assert adherence([Due(9, yesterday, "some")], FRIDAY) == Adherence(partly=1)


def test_not_done_for_no_reason_told_counts_as_not_done():
    """Six done of ten, four not: "6 of 10", and nothing is left out."""
    found = adherence(due(*["done"] * 6, *["not"] * 4), FRIDAY)
    assert found == Adherence(done=6, not_done=4)
    assert (found.given, found.counted, found.undone, found.left_out) == (10, 10, 4, 0)


def test_sick_and_away_do_not_count_and_not_coming_without_a_word_does():
    """One done, one in part; in vain waited for 1, nobody's telling 1, "not" 1: five count. Sick
    and away do not. Seven were given."""
    found = adherence(due("done", "sick", "away", "missed", "not", "some", ""), FRIDAY)
    assert found == Adherence(done=1, partly=1, not_done=1, missed=1, silent=1, sick=1, away=1)
    assert (found.given, found.counted, found.undone, found.left_out) == (7, 5, 3, 2)
    assert (found + found).given == 14


def test_what_waited_for_the_coach_or_fell_in_a_break_counts_only_if_it_was_done():
    """A session in the holidays that was done is done; the other two do not count."""
    day = FRIDAY - dt.timedelta(days=9)
    found = adherence(
        [
            Due(1, day, "done", CouldNot.BREAK),
            Due(2, day, "", CouldNot.BREAK),
            Due(3, day, "not", CouldNot.HELD_BACK),
            Due(4, day, "sick", CouldNot.BREAK),
        ],
        FRIDAY,
    )
    assert found == Adherence(done=1, on_break=1, held_back=1, sick=1)
    assert found.reasons == "1 sick, 1 in a break, 1 that stayed closed"


told_of = st.sampled_from(["done", "some", "not", "sick", "away", "missed", ""])
dues = st.builds(
    Due,
    st.integers(0, 9),
    st.dates(FRIDAY - dt.timedelta(days=9), FRIDAY + dt.timedelta(days=3)),
    told_of,
    st.sampled_from(CouldNot),
)


@given(sessions=st.lists(dues, max_size=30))
def test_every_session_that_was_given_is_counted_once(sessions):
    found = adherence(sessions, FRIDAY)
    assert found.given == len(sessions)
    assert found.given == found.counted + found.left_out + found.fresh
    assert found.done == sum(each.told == "done" for each in sessions)


def test_two_misses_at_the_venue_are_a_run_like_two_silent_ones():
    assert [each.key for each in silent_run(due("done", "missed", ""), FRIDAY)] == [1, 2]
    assert [each.key for each in silent_run(due("missed", "sick", "missed"), FRIDAY)] == [0, 1, 2]
    assert silent_run(due("missed", "sick", "away"), FRIDAY) == ()


def test_a_log_is_read_with_its_reason():
    said = [("done", ""), ("not", ""), ("not", "sick"), ("not", "no_word"), ("", "")]
    assert [told(*each) for each in said] == ["done", "not", "sick", "missed", ""]


def test_a_session_that_came_after_the_note_in_the_hall_is_no_miss_and_counts_once_it_is_logged():
    """It was sent to a child that had been there, or sick, before it had it, and nobody logged it
    then: no silence. Logged, it is what the log says."""
    day = FRIDAY - dt.timedelta(days=9)
    noted = [Due(n, day, each, CouldNot.NOTED) for n, each in enumerate(("", "done"))]
    found = adherence(noted, FRIDAY)
    assert found == Adherence(done=1, noted=1)
    assert (found.given, found.counted, found.left_out) == (2, 1, 1)
    assert found.reasons == "1 noted in the hall"
    missed = [Due(n, day, "") for n in range(2, 4)]
    assert silent_run([Due(0, day, "", CouldNot.NOTED), missed[0]], FRIDAY) == ()
    assert len(silent_run([Due(0, day, "", CouldNot.NOTED), *missed], FRIDAY)) == 3


def test_who_was_in_the_hall_without_a_session_is_counted_beside_all_that_was_given():
    found = in_the_hall(["there", "sick", "there", "no_word", "away"])
    assert found == InTheHall(there=2, sick=1, away=1, no_word=1)
    assert found.in_words == "2 there, 1 sick, 1 away, 1 absent, no notice"
    assert in_the_hall([]).in_words == ""
