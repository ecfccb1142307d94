"""The way back of a sore knee, step by step, and a lighter week after time away."""

import pytest

from library.body import Region, Side
from program.engine.fit.aim import Rule
from program.engine.fit.fitting import Outcome, fit_session
from program.engine.fit.limits import ComingBack, ReturnStep
from program.engine.fit.reasons import ReasonCode, for_coach, for_family
from tests.support.engine_fitting import child, exercise, library_of, pathway, slot

KNEE = frozenset({Region.KNEE})
SQUATS = library_of(
    pathway("squats", "wall-sit squat split-squat"),
    **{
        "wall-sit": exercise("wall-sit"),
        "squat": exercise("squat", loads=KNEE),
        "split-squat": exercise("split-squat", loads=KNEE),
    },
)
ROPE = exercise("rope", loads=frozenset({Region.ANKLE}), contacts=1)


def on(step, region=Region.KNEE):
    return coming_back(ComingBack(region, step, Side.LEFT if region else Side.BOTH))


def coming_back(*ways):
    return {"coming_back": ways}


def given(written, step, amount=8, library=SQUATS, region=Region.KNEE, **facts):
    (fitted,) = fit_session([slot(written, amount, **facts)], child(**on(step, region)), library)
    return fitted


def test_until_a_day_without_pain_nothing_loads_the_knee():
    assert given("squat", ReturnStep.PAIN_FREE).given.exercise == "wall-sit"


def test_then_the_knee_gets_the_nearest_easier_exercise_as_much_as_written():
    fitted = given("split-squat", ReturnStep.EASIER)
    assert (fitted.outcome, fitted.given.exercise) == (Outcome.EASIER, "squat")
    assert fitted.given.dose.amount == 8
    assert for_coach(fitted.reasons[0]) == (
        "the left knee is on its way back, with easier exercises for now: squat instead"
    )
    assert for_family(fitted.reasons[0]) == (
        "The left knee is on its way back, so it is squat this time."
    )


def test_then_the_exercise_itself_at_half_the_dose():
    fitted = given("split-squat", ReturnStep.HALF, amount=9)
    assert (fitted.given.exercise, fitted.given.dose.amount) == ("split-squat", 4)
    assert for_family(fitted.reasons[-1]) == (
        "It is half as much while the left knee is on its way back."
    )


def test_half_of_one_is_one():
    assert given("squat", ReturnStep.HALF, amount=1).given.dose.amount == 1


@pytest.mark.parametrize("step", [ReturnStep.EASIER, ReturnStep.HALF])
def test_what_does_not_work_the_knee_stays_as_written(step):
    fitted = given("wall-sit", step)
    assert (fitted.given.exercise, fitted.given.dose.amount) == ("wall-sit", 8)
    assert fitted.reasons[0].code is ReasonCode.AS_WRITTEN


def test_with_easier_exercises_nothing_lands_on_the_knee_yet():
    alone = library_of(pathway("ropes", "march rope"), rope=ROPE)
    assert given("rope", ReturnStep.EASIER, library=alone).given.exercise == "march"


def test_what_is_easier_than_a_jump_is_not_made_easier_twice():
    """A squat works the knee, too; but whoever gets it in a jump's place gets something easier."""
    jumps = library_of(
        pathway("jumps", "bridge squat jump"),
        squat=exercise("squat", loads=KNEE),
        jump=exercise("jump", loads=KNEE, contacts=1),
    )
    assert given("jump", ReturnStep.EASIER, library=jumps).given.exercise == "squat"
    assert given("squat", ReturnStep.EASIER, library=jumps).given.exercise == "bridge"


def test_a_jump_with_nothing_easier_is_for_the_coach_to_decide():
    alone = library_of(pathway("jumps", "jump leap"), jump=exercise("jump", contacts=1))
    fitted = given("jump", ReturnStep.EASIER, library=alone)
    assert fitted.outcome is Outcome.COACH_DECIDES


def test_where_there_is_nothing_easier_it_is_half_of_it():
    alone = library_of(pathway("squats", "squat split-squat"), squat=SQUATS.by_slug["squat"])
    fitted = given("squat", ReturnStep.EASIER, library=alone)
    assert (fitted.given.exercise, fitted.given.dose.amount) == ("squat", 4)


def test_the_coachs_own_choice_stays_and_is_half_of_it():
    kid = child(**on(ReturnStep.EASIER), overrides={"slot": "split-squat"})
    (fitted,) = fit_session([slot("wall-sit")], kid, SQUATS)
    assert (fitted.given.exercise, fitted.given.dose.amount) == ("split-squat", 4)


@pytest.mark.parametrize("step", [ReturnStep.EASIER, ReturnStep.HALF])
def test_nothing_gets_harder_nor_more_where_the_knee_is_on_its_way_back(step):
    placed = child(placements={"squats": "split-squat"}, more={"squat": 4}, **on(step))
    (fitted,) = fit_session([slot("squat", rule=Rule.MEET_PLACEMENT)], placed, SQUATS)
    assert fitted.given.exercise in {"squat", "wall-sit"}
    assert fitted.given.dose.amount <= 8


def test_a_lighter_week_leaves_six_tenths_of_everything_and_makes_nothing_harder():
    kid = child(
        placements={"squats": "split-squat"}, **coming_back(ComingBack(None, ReturnStep.LIGHTER))
    )
    written = [slot("squat", 10, rule=Rule.MEET_PLACEMENT), slot("wall-sit", 5, key="second")]
    squat, sit = fit_session(written, kid, SQUATS)
    assert (squat.given.exercise, squat.given.dose.amount) == ("squat", 6)
    assert sit.given.dose.amount == 3
    for fitted in (squat, sit):
        told = [for_family(each) for each in fitted.reasons]
        assert told.count("It is a little less in the first week back.") == 1
        assert not any("spared" in sentence for sentence in told)


def test_of_two_ways_back_the_least_is_done():
    both = coming_back(
        ComingBack(None, ReturnStep.LIGHTER), ComingBack(Region.KNEE, ReturnStep.HALF, Side.LEFT)
    )
    (fitted,) = fit_session([slot("squat", 10)], child(**both), SQUATS)
    assert fitted.given.dose.amount == 5
