"""What a substitute asks that the written exercise does not, added up by hand."""

import pytest
from hypothesis import given

from program.engine.dose.dose import Measure, Sides
from program.engine.fit.fitting import Outcome, asks_more, fit_session
from tests.support.engine_fitting import child, exercise, library_of, pathway, sessions, slot

HOP = exercise("hop", pattern="jump", contacts=2)
STEP = exercise("step", pattern="jump", contacts=1)
WALK = exercise("walk", measure=Measure.METRES, sides=Sides.EACH)


def more_of(written, placement, **special):
    """Of what a child placed there gets for three rounds of eight, in words."""
    library = library_of(pathway("way", f"{placement} {written}"), **special)
    slots = [slot(written, rounds=3)]
    (fitted,) = fit_session(slots, child(placements={"way": placement}), library)
    assert fitted.given.exercise == placement
    more = asks_more(slots[0], fitted, library)
    return more.in_words(is_alone=True) if more else ()


def test_more_landings_than_written_are_told_with_both_numbers():
    # 3 × 8 × 1 = 24 and 3 × 8 × 2 = 48.
    assert more_of("step", "hop", hop=HOP, step=STEP) == ("48 ground contacts instead of 24",)
    assert more_of("hop", "step", hop=HOP, step=STEP) == ()


def test_twice_the_time_is_told_and_less_than_that_is_not():
    """Eight repetitions of 3 s are 24 s. On each side, with 4 s to change, they are 52 s: three
    rounds are 1:12 and 2:36."""
    each_side = exercise("lunge", sides=Sides.EACH)
    assert more_of("squat", "lunge", lunge=each_side) == ("takes 2:36 instead of 1:12",)
    swapping = exercise("lunge", sides=Sides.ALTERNATING)
    assert more_of("squat", "lunge", lunge=swapping) == ()


def test_a_grown_up_is_told_of_where_the_child_is_alone():
    bar = exercise("bar", is_watched=True)
    assert more_of("row", "bar", bar=bar) == ("a grown-up has to watch",)
    assert more_of("row", "bar", bar=bar, row=exercise("row", is_watched=True)) == ()
    library, slots = library_of(pathway("way", "bar row"), bar=bar), [slot("row")]
    (fitted,) = fit_session(slots, child(placements={"way": "bar"}), library)
    assert asks_more(slots[0], fitted, library).in_words(is_alone=False) == ()


def test_the_written_exercise_asks_no_more_of_a_child_whom_the_coach_lets_do_more():
    library, slots = library_of(pathway("way", "step hop"), hop=HOP, step=STEP), [slot("hop")]
    (fitted,) = fit_session(slots, child(placements={"way": "hop"}, more={"hop": 2}), library)
    assert fitted.given.dose.amount == 10
    assert asks_more(slots[0], fitted, library) is None


@pytest.mark.parametrize(("first", "then"), [("a", "b"), ("b", "a")])
def test_of_two_that_are_equally_near_the_one_that_asks_no_more_is_chosen(first, then):
    """Both are one step easier: the slug alone would have decided."""
    top = exercise("top", is_available=False)
    lands = {first: exercise(first, pattern="jump", contacts=1)}
    library = library_of(pathway("way", "a top", "b top"), top=top, **lands)
    (fitted,) = fit_session([slot("top")], child(), library)
    assert (fitted.outcome, fitted.given.exercise) == (Outcome.EASIER, then)


@given(sessions(most=3))
def test_what_asks_more_is_another_exercise_and_asks_it_of_what_is_given(session):
    library, slots, someone = session
    for written, fitted in zip(slots, fit_session(slots, someone, library), strict=True):
        more = asks_more(written, fitted, library)
        if more is None:
            continue
        assert fitted.given.exercise != written.exercise
        assert more.in_words(is_alone=True)
        contacts = round(fitted.given.dose.ground_contacts * written.rounds, 6)
        assert more.given.contacts == contacts
        assert not (more.lands_more and contacts == 0)
