import dataclasses
import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from program.engine.progress import STEADY, Attempt, Move, Standing, Suggestion, Why, suggest

TODAY = dt.date(2026, 11, 6)
USUAL_EFFORTS = (5, 5, 5, 5, 6)


def attempt(log, days_ago=0, **details) -> Attempt:
    told = {"target": 8, "done": True, "effort": 5} | details
    return Attempt(log=log, on=TODAY - dt.timedelta(days=days_ago), **told)


def sides(left, right) -> dict[str, int]:
    return {"least": min(left, right), "best": max(left, right)}


def standing(**details) -> Standing:
    known = {"measure": "repetitions", "usual": 8, "high": 12, "has_harder": True}
    return Standing(**(known | {"earlier_efforts": USUAL_EFFORTS} | details))


def ask(*attempts, **known) -> Suggestion:
    return suggest(attempts, standing(**known), TODAY)


EASY = {"effort": 3, **sides(8, 8)}


def test_both_sides_at_ease_twice_is_ready_to_move_on():
    """Usual is 5, and 3 is two points easier."""
    found = ask(attempt(1, 5, effort=5), attempt(2, 3, **EASY), attempt(3, **EASY))
    assert found == Suggestion(Move.MOVE_ON, Why.AT_EASE, (2, 3))


def test_two_extra_repetitions_twice_is_ready_whatever_the_effort():
    more = {"effort": 6, **sides(10, 11)}
    assert ask(attempt(1, 3, **more), attempt(2, **more)).why is Why.ROOM_TO_SPARE


@pytest.mark.parametrize(
    ("last", "why"),
    [
        ({"effort": 3, **sides(8, 7)}, "one side is short"),
        ({"effort": 4, **sides(8, 8)}, "a point is a rating's own grain"),
        ({"effort": None, **sides(8, 8)}, "nobody said how hard it was"),
        ({"effort": 3, "done": False}, "some of it only"),
        ({"effort": 3, "took_easier": True}, "it was the easier option"),
    ],
)
def test_otherwise_it_stays(last, why):
    assert ask(attempt(1, 3, **EASY), attempt(2, **last)).move is Move.HOLD, why


def test_one_childs_three_is_anothers_six():
    """A child that usually rates 3 is at ease at 1, and one whose ratings are 2 points apart anyway
    not at two points below its middle: of 1 3 5 7 9 the middle is 5, the deviations' middle 2, and
    1.48 times that 2.97; 2 is 3 below, and 3 is not."""
    gentle = {"earlier_efforts": (3, 3, 3, 3, 4)}
    wild = {"earlier_efforts": (1, 3, 5, 7, 9)}
    for known, effort, why in (
        (gentle, 3, Why.MIXED),
        (gentle, 1, Why.AT_EASE),
        (wild, 3, Why.MIXED),
        (wild, 2, Why.AT_EASE),
    ):
        easy = {"effort": effort, **sides(8, 8)}
        assert ask(attempt(1, 3, **easy), attempt(2, **easy), **known).why is why


def test_before_there_is_a_usual_nobody_is_at_ease():
    few = {"earlier_efforts": USUAL_EFFORTS[:4]}
    assert ask(attempt(1, 3, **EASY), attempt(2, **EASY), **few).move is Move.HOLD


def steady(*efforts, target=8, **details):
    told = {"target": target, **sides(target, target)} | details
    days = range(2 * (len(efforts) - 1), -1, -2)
    return [
        attempt(n, day, effort=each, **told)
        for n, (day, each) in enumerate(zip(days, efforts, strict=True))
    ]


def test_managed_eight_times_running_and_not_hard_is_ready():
    """4 5 4 5 4 5 4 5: the middle is 4.5, and 5 is hard."""
    found = ask(*steady(4, 5, 4, 5, 4, 5, 4, 5))
    assert found == Suggestion(Move.MOVE_ON, Why.STEADY, tuple(range(8)))


def test_seven_times_or_hard_or_once_short_or_hardly_rated_is_not_ready():
    assert ask(*steady(4, 5, 4, 5, 4, 5, 4)).move is Move.HOLD
    assert ask(*steady(4, 5, 4, 5, 5, 5, 4, 5)).move is Move.HOLD
    assert ask(*steady(4, None, 4, None, 4, None, None, 5)).move is Move.HOLD
    short, *others = steady(4, 5, 4, 5, 4, 5, 4, 5)
    assert ask(dataclasses.replace(short, least=7), *others).move is Move.HOLD


def test_what_was_managed_of_a_smaller_dose_is_not_counted_for_the_larger():
    small, large = steady(4, 5, 4, 5, target=6), steady(4, 5, 4, 5, 4, 5, 4)
    before = [
        dataclasses.replace(each, log=90 + each.log, on=each.on - dt.timedelta(days=14))
        for each in small
    ]
    assert ask(*before, *large).move is Move.HOLD


def test_ratings_that_never_vary_make_nobody_ready():
    """Always 1, from the first session to the sixteenth; two more repetitions twice still do."""
    always = steady(*[1] * 16)
    for first in range(1, 17):
        assert ask(*always[:first], earlier_efforts=[1] * (first - 2)).move is Move.HOLD
    more = [dataclasses.replace(each, least=10, best=10) for each in always]
    assert ask(*more, earlier_efforts=[1] * 14).why is Why.ROOM_TO_SPARE


def test_two_good_days_of_a_child_that_was_just_short_are_chance():
    more = {"effort": 6, **sides(10, 11)}
    short = attempt(1, 9, done=False, effort=6, **sides(7, 8))
    good = [attempt(3, 3, **more), attempt(4, **more)]
    assert ask(short, attempt(2, 6, **more), *good).move is Move.HOLD
    assert ask(short, *(attempt(n, 8 - n, **more) for n in (2, 3)), *good).move is Move.MOVE_ON


def test_two_logs_of_one_day_are_one_and_the_harder_counts():
    assert ask(attempt(1, **EASY), attempt(2, **EASY)).why is Why.TOO_FEW
    less = {"done": False, **sides(5, 5)}
    found = ask(attempt(1, 3, **less), attempt(2, 3, **EASY), attempt(3, **less))
    assert found == Suggestion(Move.STEP_BACK, Why.NOT_MANAGED, (1, 3))


def test_one_good_day_is_too_few():
    assert ask(attempt(1, **EASY)) == Suggestion(Move.HOLD, Why.TOO_FEW, (1,))
    assert ask() == Suggestion(Move.HOLD, Why.TOO_FEW, ())


def test_done_without_numbers_counts_as_the_target():
    found = ask(attempt(1, 3, effort=3), attempt(2, effort=3))
    assert found.move is Move.MOVE_ON


def test_a_dose_below_the_usual_one_grows_before_the_exercise_does():
    small = {"target": 5, "effort": 3, **sides(5, 5)}
    found = ask(attempt(1, 3, **small), attempt(2, **small))
    assert (found.move, found.add) == (Move.ADD, 2)
    nearly = {"target": 7, "effort": 3, **sides(7, 7)}
    assert ask(attempt(1, 3, **nearly), attempt(2, **nearly)).add == 1


def test_at_the_top_of_a_pathway_the_dose_grows_to_its_highest_and_no_further():
    assert ask(attempt(1, 3, **EASY), attempt(2, **EASY), has_harder=False).move is Move.ADD
    full = {"target": 12, "effort": 3, **sides(12, 12)}
    found = ask(attempt(1, 3, **full), attempt(2, **full), has_harder=False)
    assert (found.move, found.why) == (Move.HOLD, Why.AT_THE_TOP)


def test_not_managed_twice_steps_back():
    short = {"done": False, **sides(6, 5)}
    found = ask(attempt(1, 5), attempt(2, 3, **short), attempt(3, **short))
    assert found == Suggestion(Move.STEP_BACK, Why.NOT_MANAGED, (2, 3))


def test_four_fifths_of_the_target_is_still_managed():
    """8 of 10 is a day; 7 of 10 are too few."""
    for best, move in ((8, Move.HOLD), (7, Move.STEP_BACK)):
        few = {"target": 10, "done": False, **sides(best, best)}
        assert ask(attempt(1, 3, **few), attempt(2, **few)).move is move


def test_taking_the_easier_option_twice_steps_back():
    assert ask(*(attempt(n, 3 * n, took_easier=True) for n in (0, 1))).move is Move.STEP_BACK


def test_one_repetition_less_or_one_weaker_side_is_no_step_back():
    for less in (sides(7, 7), sides(4, 8)):
        found = ask(attempt(1, 3, done=False, **less), attempt(2, done=False, **less))
        assert found.move is Move.HOLD


def test_far_harder_than_usual_twice_steps_back_and_once_does_not():
    assert ask(attempt(1, 3, effort=8), attempt(2, effort=8)).why is Why.MUCH_HARDER
    assert ask(attempt(1, 3, effort=5), attempt(2, effort=9)).move is Move.HOLD
    assert ask(attempt(1, 3, effort=8), attempt(2, effort=8), earlier_efforts=()).why is Why.MIXED


def test_pain_stops_everything_and_asks():
    found = ask(attempt(1, 6, hurt=True), attempt(2, 3, **EASY), attempt(3, **EASY))
    assert found == Suggestion(Move.STOP_AND_ASK, Why.HURT, (1,))


def test_pain_four_sessions_ago_is_no_longer_the_answer():
    calm = [attempt(n, 12 - 3 * n, **EASY) for n in (1, 2, 3)]
    assert ask(attempt(0, 12, hurt=True), *calm).move is Move.MOVE_ON


@pytest.mark.parametrize(
    ("known", "why"),
    [({"grows_fast": True}, Why.GROWS_FAST), ({"is_restricted": True}, Why.RESTRICTED)],
)
def test_a_growth_spurt_or_a_restriction_asks_for_patience(known, why):
    found = ask(attempt(1, 3, **EASY), attempt(2, **EASY), **known)
    assert (found.move, found.why) == (Move.HOLD, why)


def test_patience_does_not_keep_anybody_from_stepping_back():
    short = {"done": False, **sides(5, 5)}
    found = ask(attempt(1, 3, **short), attempt(2, **short), grows_fast=True)
    assert found.move is Move.STEP_BACK


@pytest.mark.parametrize("days", [(25, 2), (24, 21)])
def test_after_a_long_gap_nothing_gets_harder(days):
    found = ask(*(attempt(n, ago, **EASY) for n, ago in enumerate(days)))
    assert (found.move, found.why) == (Move.HOLD, Why.LONG_GAP)


attempts = st.lists(
    st.builds(
        Attempt,
        log=st.integers(1, 99),
        on=st.dates(TODAY - dt.timedelta(days=40), TODAY),
        target=st.integers(4, 12),
        done=st.booleans(),
        effort=st.none() | st.integers(0, 10),
        took_easier=st.booleans(),
        hurt=st.booleans(),
    ),
    max_size=8,
    unique_by=lambda each: each.log,
)


@given(attempts, st.booleans(), st.booleans())
def test_a_suggestion_rests_on_real_logs_and_forgets_their_order(tried, has_harder, grows):
    known = standing(has_harder=has_harder, grows_fast=grows)
    found = suggest(tried, known, TODAY)
    assert set(found.rests_on) <= {each.log for each in tried}
    assert suggest(tried[::-1], known, TODAY) == found
    if found.move in {Move.MOVE_ON, Move.ADD, Move.STEP_BACK}:
        assert len(found.rests_on) in {2, STEADY}


@given(attempts)
def test_nothing_gets_harder_while_a_child_grows_fast_or_hurts(tried):
    known = standing(grows_fast=True)
    assert suggest(tried, known, TODAY).move not in {Move.MOVE_ON, Move.ADD}
    last = sorted(tried, key=lambda each: (each.on, each.log))[-3:]
    if any(each.hurt for each in last):
        assert suggest(tried, standing(), TODAY).move is Move.STOP_AND_ASK
