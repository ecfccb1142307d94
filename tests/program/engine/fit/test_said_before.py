"""What a coach has said to do where nothing fits, and what without something is left out."""

import pytest

from library.body import Region, RestrictionKind
from program.engine.fit.fitting import Outcome, fit_session
from program.engine.fit.library import Need
from program.engine.fit.limits import Restriction
from program.engine.fit.options import fitted_without_word
from program.engine.fit.reasons import ReasonCode, for_coach
from tests.support.engine_fitting import child, exercise, library_of, pathway, slot

SMOOTH = Need("a smooth floor", frozenset({"tiles", "laminate"}))
SLIDES = library_of(
    pathway("slides", "towel-slide towel-run"),
    **{
        "towel-slide": exercise("towel-slide", needs=(SMOOTH,)),
        "towel-run": exercise("towel-run", needs=(SMOOTH,)),
        "bridge": exercise("bridge"),
        "squat": exercise("squat", loads=frozenset({Region.KNEE})),
    },
)
ON_CARPET = frozenset({"carpet", "towel"})


def given(written="towel-slide", kit=ON_CARPET, **facts):
    (fitted,) = fit_session([slot(written)], child(kit=kit, **facts), SLIDES)
    return fitted


def test_nobody_has_said_anything_and_the_coach_decides():
    assert given().outcome is Outcome.COACH_DECIDES


def test_what_was_said_for_where_nothing_fits_is_given_where_nothing_fits():
    fitted = given(where_nothing_fits={"slot": "bridge"})
    assert (fitted.outcome, fitted.given.exercise) == (Outcome.COACH_CHOICE, "bridge")


def test_and_not_where_something_fits():
    fitted = given(kit=frozenset({"tiles"}), where_nothing_fits={"slot": "bridge"})
    assert (fitted.outcome, fitted.given.exercise) == (Outcome.AS_WRITTEN, "towel-slide")


def test_it_may_be_to_leave_it_out():
    fitted = given(where_nothing_fits={"slot": None})
    assert (fitted.outcome, fitted.given) == (Outcome.LEFT_OUT, None)


def test_the_word_for_this_session_alone_goes_before_it():
    fitted = given(overrides={"slot": None}, where_nothing_fits={"slot": "bridge"})
    assert fitted.outcome is Outcome.LEFT_OUT


def test_what_breaks_a_limit_now_is_the_coachs_to_decide_again():
    fitted = given(
        where_nothing_fits={"slot": "squat"},
        restrictions=(Restriction(Region.KNEE, RestrictionKind.NO_LOADING),),
    )
    assert fitted.outcome is Outcome.COACH_DECIDES
    assert fitted.reasons[0].code is ReasonCode.CHOICE_NOT_SAFE


def test_what_needs_the_missing_floor_is_left_out_and_says_so():
    fitted = given(left_out_lacking=(SMOOTH.items,))
    assert (fitted.outcome, fitted.given) == (Outcome.LEFT_OUT, None)
    assert [for_coach(reason) for reason in fitted.reasons] == [
        "left out by the coach",
        "no smooth floor",
    ]


@pytest.mark.parametrize(
    ("lacking", "is_left_out"),
    [
        ({"tiles", "laminate"}, True),
        # Whoever lacks all three lacks these two.
        ({"tiles", "laminate", "parquet"}, True),
        # Of laminate nothing was said.
        ({"tiles"}, False),
        ({"rope"}, False),
    ],
)
def test_only_what_needs_nothing_else_is_left_out(lacking, is_left_out):
    fitted = given(left_out_lacking=(frozenset(lacking),))
    assert (fitted.outcome is Outcome.LEFT_OUT) is is_left_out


def test_what_something_else_is_in_the_way_of_too_is_the_coachs_to_decide():
    fitted = given(
        left_out_lacking=(SMOOTH.items,),
        restrictions=(
            Restriction(Region.KNEE, RestrictionKind.NOTHING, without=frozenset({"towel-slide"})),
        ),
    )
    assert fitted.outcome is Outcome.COACH_DECIDES


def test_what_fits_is_not_left_out():
    fitted = given("squat", left_out_lacking=(SMOOTH.items,))
    assert fitted.outcome is Outcome.AS_WRITTEN


def test_a_child_who_is_held_back_gets_nothing_of_it():
    fitted = given(is_held_back=True, where_nothing_fits={"slot": "bridge"})
    assert fitted.outcome is Outcome.COACH_DECIDES


def test_as_if_nothing_had_been_said_forgets_it():
    kid = child(kit=ON_CARPET, where_nothing_fits={"slot": "bridge"})
    (fitted,) = fitted_without_word([slot("towel-slide")], 0, kid, SLIDES)
    assert fitted.outcome is Outcome.COACH_DECIDES
