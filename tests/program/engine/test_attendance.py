import datetime as dt

import pytest

from program.engine.attendance import Adherence, Due, adherence, silent_run, told

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


def test_yesterdays_session_may_still_be_logged():
    yesterday = Due(9, FRIDAY - dt.timedelta(days=1), "")
    assert silent_run([*due("done", ""), yesterday], FRIDAY) == ()
    assert adherence([yesterday], FRIDAY).counted == 0


def test_what_counts_leaves_out_what_was_excused():
    """Two done, one partly, one silent: 3 of 4; the cold does not count."""
    found = adherence(due("done", "done", "not", "some", ""), FRIDAY)
    assert found == Adherence(done=3, silent=1, told_not=1)
    assert found.counted == 4


def test_sick_and_away_are_no_misses_and_not_coming_without_a_word_is_one():
    """Done 2; in vain waited for 1; of nobody's telling 1: 2 of 4. Sick, away, not: left out."""
    found = adherence(due("done", "sick", "away", "missed", "not", "some", ""), FRIDAY)
    assert found == Adherence(done=2, silent=1, told_not=3, missed=1, sick=1, away=1)
    assert found.counted == 4
    assert found + found == Adherence(4, 2, 6, 2, 2, 2)


def test_two_misses_at_the_venue_are_a_run_like_two_silent_ones():
    assert [each.key for each in silent_run(due("done", "missed", ""), FRIDAY)] == [1, 2]
    assert [each.key for each in silent_run(due("missed", "sick", "missed"), FRIDAY)] == [0, 1, 2]
    assert silent_run(due("missed", "sick", "away"), FRIDAY) == ()


def test_a_log_is_read_with_its_reason():
    said = [("done", ""), ("not", ""), ("not", "sick"), ("not", "no_word"), ("", "")]
    assert [told(*each) for each in said] == ["done", "not", "sick", "missed", ""]
