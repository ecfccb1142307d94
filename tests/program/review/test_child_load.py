"""The child's page: weeks, load and sides, from what was told. It is Wednesday evening."""

import datetime as dt

import pytest
from django.urls import reverse

from program.engine.attendance import Adherence
from program.review.child_load import sides_of, weeks_of
from tests.support.family import WEDNESDAY, assign, text
from tests.support.queue import did, pathway_of_three

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

DAY = dt.timedelta(days=1)
LAST_MONDAY = WEDNESDAY - 9 * DAY


def told(cast, days_ago, effort=5, minutes=20, **more):
    return did(cast.child, cast.guardian, days_ago, effort=effort, minutes=minutes, **more)


def weeks(cast):
    return weeks_of(cast.coach, cast.child, WEDNESDAY).weeks


def test_a_weeks_load_is_effort_times_minutes_added_up(cast):
    """Monday 5 * 20, Wednesday 6 * 30 and Friday 4 * 25 are 380, a mean of 54.29 a day. The squares
    sum to 52 400, less 7 * 54.29^2 leaves 31 771; a sixth of it is 5295, its root 72.77. So the
    monotony is 54.29 / 72.77, 0.746, and the strain 283.5."""
    for days_ago, effort, minutes in ((9, 5, 20), (7, 6, 30), (5, 4, 25)):
        told(cast, days_ago, effort, minutes)
    week = weeks(cast)[0]
    assert (week.monday, week.load) == (LAST_MONDAY, 380)
    assert week.monotony == pytest.approx(0.746, abs=0.001)
    assert week.strain == pytest.approx(283.5, abs=0.1)


def test_a_week_with_a_session_nobody_logged_has_no_load(cast):
    told(cast, 9)
    assign(cast.child, WEDNESDAY - 7 * DAY)
    assert weeks(cast)[0].load is None


def test_a_session_that_was_not_done_costs_nothing(cast):
    told(cast, 9)
    told(cast, 7, effort=None, minutes=None, state="not", note="A cold")
    assert weeks(cast)[0].load == 100
    found = weeks_of(cast.coach, cast.child, WEDNESDAY).came_of_it
    assert found == Adherence(done=1, not_done=1)


def test_a_week_that_is_not_over_has_no_load_yet(cast):
    told(cast, 2)
    (week,) = weeks(cast)
    assert week.load is None


def test_a_week_without_sessions_stands_between_as_a_week_of_rest(cast):
    told(cast, 16)
    told(cast, 2)
    assert [week.load for week in weeks(cast)] == [100, 0, None]


def test_five_known_weeks_make_a_usual_one(cast):
    for weeks_ago, effort in ((1, 5), (2, 6), (3, 5), (4, 4)):
        told(cast, 7 * weeks_ago + 2, effort)
    assert weeks_of(cast.coach, cast.child, WEDNESDAY).usual_range == ""
    told(cast, 37, 9)
    # Of 80 100 100 120 180 the middle is 100 and the deviations' middle 20, or 30 as an SD.
    assert weeks_of(cast.coach, cast.child, WEDNESDAY).usual_range == "70 to 130"


def test_sides_are_compared_from_eight_readings_on_and_say_whether_they_are_noise(cast):
    squats = pathway_of_three()
    for days_ago, left in zip(range(40, 12, -4), (6, 6, 7, 5, 6, 6, 6), strict=True):
        did(cast.child, cast.guardian, days_ago, [(squats.sit, sides(left, 8))])
    assert sides_of(cast.coach, cast.child, WEDNESDAY) == []
    did(cast.child, cast.guardian, 5, [(squats.sit, sides(6, 8))])
    for days_ago, left in zip(range(41, 9, -4), (6, 8, 5, 6, 8, 6, 8, 7), strict=True):
        right = 14 - left
        did(cast.child, cast.guardian, days_ago, [(squats.deep, sides(left, right))])
    one, other = sides_of(cast.coach, cast.child, WEDNESDAY)
    assert (one.exercise, one.found.weaker, one.says) == (
        "Sit to stand",
        "left",
        "a reason to watch",
    )
    assert (other.exercise, other.says) == ("Deep squat", "within what readings differ anyway")


def sides(left, right) -> dict[str, int]:
    return {"amount_left": left, "amount_right": right}


def test_another_coach_reads_nothing_of_it(cast):
    told(cast, 9)
    assert weeks_of(cast.other_coach, cast.child, WEDNESDAY).weeks == ()
    assert sides_of(cast.other_coach, cast.child, WEDNESDAY) == []


def test_the_page_shows_weeks_load_and_sides(cast, client_for):
    squats = pathway_of_three()
    for days_ago in (48, 41, 37, 30, 21, 16, 9, 7):
        slots = [(squats.squat, sides(6, 8))]
        told(cast, days_ago, slots=slots)
    assign(cast.child, WEDNESDAY - 5 * DAY)
    page = reverse("program:child_review", args=[cast.child.public_id])
    read = text(client_for(cast.coach).get(page))
    assert "8 of 9 sessions done, 1 not done." in read
    assert "26 October 2 of 3 5 – – – –" in read
    assert "19 October 1 of 1 5 100 100 – –" in read  # a hundred each week stays a hundred
    assert "Squat left 25 % less 17 % 8 a reason to watch" in read


def test_load_is_of_the_day_a_session_was_done_and_attendance_of_the_day_it_was_for(cast):
    """Tuesday's session was done on the Wednesday of last week, where another one of 4 * 25 was
    done already: 5 * 20 + 4 * 25 are 200 on that day and nothing on Tuesday, and with Friday's
    6 * 30 the week costs 380. The session of this week's Monday was brought forward to Sunday: its
    3 * 10 are last week's, which makes 410, a mean of 58.57; this week it is the one that was done.
    The squares of 200, 180 and 30 sum to 73 300, less 7 * 58.57^2 leaves 49 286; a sixth of it is
    8214, its root 90.63. So the monotony is 58.57 / 90.63, 0.646."""
    told(cast, 8, 5, 20, done_on=WEDNESDAY - 7 * DAY)
    told(cast, 7, 4, 25)
    told(cast, 5, 6, 30)
    told(cast, 2, 3, 10, done_on=WEDNESDAY - 3 * DAY)
    last, this = weeks(cast)
    assert last.load == 410
    assert last.monotony == pytest.approx(0.646, abs=0.001)
    assert (len(last.rows), len(this.rows)) == (3, 1)
    assert (this.came_of_it, this.effort) == (Adherence(done=1), "")
    assert last.effort == "4.5"


def test_a_session_done_late_is_in_the_week_in_which_it_was_done_though_it_was_for_an_older_one(
    cast,
):
    told(cast, 9, 5, 20, done_on=WEDNESDAY - 2 * DAY)
    last, this = weeks(cast)
    assert (last.load, last.came_of_it) == (0, Adherence(done=1))
    assert [row.load for row in this.felt] == [100]
