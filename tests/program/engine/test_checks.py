"""Every check, on sessions whose numbers are added up beside them."""

import datetime as dt
from dataclasses import replace

import pytest

from program.engine.checks import (
    BRENNER_2024,
    CheckedSession,
    CheckedSlot,
    Finding,
    Level,
    findings,
)
from program.engine.dose import Dose, Measure, Sides

MONDAY = dt.date(2026, 11, 23)
ALL_KINDS = frozenset({"push", "pull", "squat", "hinge", "front_brace"})


def slot(pattern="squat", amount=8, rounds=2, sides=Sides.BOTH, contacts=0.0, **more):
    measure = more.pop("measure", Measure.REPETITIONS)
    dose = Dose(measure, amount, sides, contacts=contacts)
    return CheckedSlot(more.pop("name", "Free squat"), pattern, dose, rounds, **more)


# Six minutes of warm-up, twenty in all, one exercise: nothing to look at.
CALM = CheckedSession(
    slots=(slot(),),
    seconds=20 * 60,
    target_minutes=25,
    is_at_home=True,
    warm_up_seconds=6 * 60,
    lowest_ceiling=60,
    families=10,
    days=frozenset({MONDAY, MONDAY + dt.timedelta(days=2)}),
    recent_patterns=ALL_KINDS,
)


def found(**changes) -> list[tuple[str, str]]:
    return [(each.code, each.sentence) for each in findings(replace(CALM, **changes))]


def test_a_calm_session_gives_nothing_to_look_at():
    assert found() == []


def test_an_empty_session_is_not_judged():
    assert found(slots=(), warm_up_seconds=None) == []


def test_a_missing_warm_up_wants_a_look():
    assert found(warm_up_seconds=None) == [("warm_up", "There is no warm-up.")]


@pytest.mark.parametrize(
    ("seconds", "told"),
    [(299, "4:59"), (300, None), (600, None), (601, "10:01")],
)
def test_a_warm_up_of_five_to_ten_minutes_is_usual(seconds, told):
    sentence = f"The warm-up takes {told}; five to ten minutes are usual."
    assert found(warm_up_seconds=seconds) == ([("warm_up", sentence)] if told else [])


def test_a_session_is_long_from_a_tenth_over_the_target():
    # 25 min wanted: a tenth over is 27.5 min, 1650 s.
    assert found(seconds=1650) == []
    assert found(seconds=1651) == [("length", "3 minutes longer than you wanted.")]


@pytest.mark.parametrize(
    ("pattern", "amount", "told"),
    [
        ("squat", 5, "5 is outside the 6 to 15"),
        ("squat", 6, None),
        ("pull", 15, None),
        ("pull", 16, "16 is outside the 6 to 15"),
        ("jump", 2, "2 is outside the 3 to 6"),
        ("jump", 6, None),
        ("land", 7, "7 is outside the 3 to 6"),
        ("mobility", 4, None),
    ],
)
def test_repetitions_outside_the_youth_range_are_noted(pattern, amount, told):
    sentences = [sentence for _, sentence in found(slots=(slot(pattern, amount),))]
    expected = f"Free squat: {told} that are usual for young people."
    assert sentences == ([expected] if told else [])


def test_a_hold_has_no_repetitions_to_judge():
    assert found(slots=(slot(amount=30, measure=Measure.SECONDS),)) == []


def test_more_than_three_sets_want_a_look_but_not_of_mobility():
    slots = (slot(rounds=4), slot("pull", name="Towel row", rounds=5), slot("mobility", rounds=4))
    assert found(slots=slots) == [("sets", "Free squat and Towel row: more than 3 sets.")]


def test_ground_contacts_add_up_over_rounds_and_sides():
    # 15 s of skipping at 2 a second, 2 rounds: 60. Hops, 3 each side, 2 rounds: 12. Together 72.
    slots = (
        slot("skip", 15, measure=Measure.SECONDS, contacts=2.0),
        slot("land", 3, sides=Sides.EACH, contacts=1.0),
    )
    sentence = "72 ground contacts; the youngest here should have at most 60."
    assert found(slots=slots) == [("contacts", sentence)]
    assert found(slots=slots, lowest_ceiling=72) == []


def test_a_landing_before_anybody_is_placed_on_it_wants_a_look():
    hops = (slot("land", 3, contacts=1.0, name="Hop and freeze"),)
    sentence = "2 children meet Hop and freeze before anybody placed them on landing."
    assert found(slots=hops, not_placed_on_landing=2) == [("landing_first", sentence)]
    assert found(not_placed_on_landing=2) == []


def test_two_weeks_without_pushing_want_a_look():
    assert found(recent_patterns=ALL_KINDS - {"push"}) == [
        ("missing_work", "No pushing for two weeks.")
    ]


def test_a_hinge_or_a_hamstring_slide_is_enough_hip_work():
    slides = (ALL_KINDS - {"hinge"}) | {"hamstring_slide"}
    assert found(recent_patterns=slides) == []


def test_before_two_weeks_are_written_nothing_is_missing():
    assert found(recent_patterns=None) == []


def test_an_odd_number_of_alternating_repetitions_favours_a_side():
    odd = (slot("crawl", 9, sides=Sides.ALTERNATING, name="Bird dog"),)
    sentence = "Bird dog: 9 gives one side one more than the other."
    assert found(slots=odd) == [("equal_sides", sentence)]


def test_what_most_families_lack_is_noted_for_a_home_session_only():
    lacking = {"a stable seat": 6, "a skipping rope": 5}
    assert found(lacking=lacking) == [("kit", "6 families have no stable seat.")]
    assert found(lacking=lacking, is_at_home=False) == []


def test_a_watched_exercise_at_home_reminds_of_the_grown_up():
    watched = (slot("land", 3, name="Hop and freeze", is_watched=True),)
    assert found(slots=watched) == [
        ("supervision", "At home a grown-up has to watch: Hop and freeze.")
    ]
    assert found(slots=watched, is_at_home=False) == []


def test_four_strength_days_with_two_in_a_row():
    days = frozenset(MONDAY + dt.timedelta(days=plus) for plus in (0, 1, 3, 5))
    assert found(days=days) == [
        ("training_days", "4 strength days this week; two to three are usual."),
        ("consecutive_days", "Two strength days in a row; a day between them is usual."),
    ]


def test_a_week_without_a_day_off_says_where_that_comes_from():
    days = frozenset(MONDAY + dt.timedelta(days=plus) for plus in range(7))
    assert Finding("rest_days", Level.LOOK, "No day off this week.", BRENNER_2024) in findings(
        replace(CALM, days=days)
    )


def test_what_wants_a_look_comes_before_what_is_only_noted():
    levels = [each.level for each in findings(replace(CALM, seconds=9999, warm_up_seconds=60))]
    assert levels == [Level.LOOK, Level.NOTE]
