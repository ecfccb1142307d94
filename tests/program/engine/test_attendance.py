import datetime as dt

import pytest

from program.engine.attendance import Adherence, Due, adherence, silent_run

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
