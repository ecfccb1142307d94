"""When the next step of a way back may be asked about, and when a lighter week is offered."""

import datetime as dt

import pytest

from program.engine.attendance import Due
from program.engine.fit.limits import ReturnStep
from program.engine.way_back import Thresholds, after, before, progress, time_away

MONDAY = dt.date(2026, 11, 2)
DAY = dt.timedelta(days=1)
USUAL = Thresholds()


def on(*days):
    return [MONDAY + n * DAY for n in days]


def test_the_steps_come_one_after_the_other_and_end_as_written():
    assert after(ReturnStep.PAIN_FREE) is ReturnStep.EASIER
    assert after(ReturnStep.EASIER) is ReturnStep.HALF
    assert after(ReturnStep.HALF) is None
    assert before(ReturnStep.HALF) is ReturnStep.EASIER
    assert before(ReturnStep.PAIN_FREE) is None


def test_a_day_without_pain_is_asked_about_the_day_after_the_last_report():
    begun = progress(ReturnStep.PAIN_FREE, MONDAY, MONDAY + DAY, ())
    assert not begun.is_due(USUAL, MONDAY + DAY)
    assert begun.is_due(USUAL, MONDAY + 2 * DAY)
    assert not begun.is_due(Thresholds(pain_free_days=3), MONDAY + 3 * DAY)


def test_two_sessions_without_pain_make_a_step():
    assert not progress(ReturnStep.EASIER, MONDAY, None, on(1)).is_due(USUAL, MONDAY + 3 * DAY)
    assert progress(ReturnStep.EASIER, MONDAY, None, on(1, 3)).is_due(USUAL, MONDAY + 3 * DAY)


def test_sessions_before_the_last_report_or_on_its_day_do_not_count():
    came = progress(ReturnStep.HALF, MONDAY, MONDAY + 3 * DAY, on(1, 2, 3, 5))
    assert (came.quiet_since, came.sessions) == (MONDAY + 3 * DAY, 1)


def test_no_way_back_is_forgotten():
    stuck = progress(ReturnStep.EASIER, MONDAY, None, ())
    assert not stuck.is_due(USUAL, MONDAY + 13 * DAY)
    assert stuck.is_due(USUAL, MONDAY + 14 * DAY)


@pytest.mark.parametrize(
    ("days", "told", "is_offered"),
    [
        (13, "", False),
        (14, "", True),
        (14, "away", True),
        (6, "sick", False),
        (7, "sick", True),
        (13, "away", False),
    ],
)
def test_a_lighter_week_is_offered_after_two_weeks_and_after_one_with_an_illness(
    days, told, is_offered
):
    back = MONDAY + days * DAY
    dues = [Due(1, MONDAY, "done"), Due(2, MONDAY + 2 * DAY, told)]
    away = time_away(MONDAY, back, dues, USUAL, back - DAY)
    assert (away is not None) is is_offered
    assert away is None or (away.days, away.was_ill) == (days, told == "sick")


def test_it_is_offered_in_the_week_before_the_first_session_back_and_to_whoever_came_before():
    back = MONDAY + 30 * DAY
    assert time_away(MONDAY, back, (), USUAL, back - 8 * DAY) is None
    assert time_away(MONDAY, back, (), USUAL, back - 7 * DAY)
    assert time_away(None, back, (), USUAL, back) is None
    assert time_away(MONDAY, None, (), USUAL, back) is None


def test_an_illness_before_the_last_session_that_was_done_is_over():
    dues = [Due(1, MONDAY - 3 * DAY, "sick"), Due(2, MONDAY, "done")]
    assert time_away(MONDAY, MONDAY + 8 * DAY, dues, USUAL, MONDAY + 7 * DAY) is None
