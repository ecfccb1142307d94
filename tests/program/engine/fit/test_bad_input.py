"""What fit makes of data that should not be: always an answer, and one a coach can read."""

import pytest

from program.engine.dose.dose import DoseRange, Measure
from program.engine.fit.aim import Rule
from program.engine.fit.fitting import Outcome, fit_cohort, fit_session
from program.engine.fit.library import FitExercise
from program.engine.fit.reasons import for_coach
from tests.support.engine_fitting import child, exercise, library_of, pathway, slot

AS_WRITTEN, EASIER, MEET = Rule

SQUAT = pathway("squat", "half squat overhead")


def fit(written, child, library, **facts):
    (fitted,) = fit_session([slot(written, **facts)], child, library)
    return fitted


def said(fitted):
    return [for_coach(reason) for reason in fitted.reasons]


class TestPlacement:
    def test_a_retired_placement_still_says_how_far_the_child_has_come(self):
        library = library_of(SQUAT, squat=exercise("squat", is_available=False))
        fitted = fit("overhead", child(placements={"squat": "squat"}), library)
        assert fitted.given.exercise == "half"
        assert said(fitted) == [
            "squat is not in use now: half instead",
            "overhead is beyond the placement",
            "placed at squat, which is not in use now; place again",
        ]

    def test_a_placement_that_left_the_library_but_not_the_pathway_counts_as_retired(self):
        library = library_of(SQUAT)
        library = type(library)(
            tuple(one for one in library.exercises if one.slug != "squat"), library.pathways
        )
        fitted = fit("overhead", child(placements={"squat": "squat"}), library)
        assert fitted.given.exercise == "half"
        assert "placed at squat, which is not in use now; place again" in said(fitted)

    def test_a_placement_that_left_the_pathway_says_nothing(self):
        fitted = fit("squat", child(placements={"squat": "lunge"}), library_of(SQUAT))
        assert fitted.outcome is Outcome.AS_WRITTEN
        assert said(fitted) == [
            "as written",
            "placed at lunge, which is no longer on the pathway squat; place again",
        ]

    def test_a_placement_that_nothing_joins_to_the_written_exercise_says_nothing(self):
        torn = pathway("squat", "half squat", "hop bound")
        fitted = fit("squat", child(placements={"squat": "hop"}), library_of(torn), rule=MEET)
        assert fitted.outcome is Outcome.AS_WRITTEN
        assert said(fitted)[1] == (
            "placed at hop, which nothing on the pathway squat joins to this one"
        )

    def test_as_written_for_all_does_not_ask_about_placements(self):
        for placements in ({}, {"squat": "lunge"}):
            fitted = fit("squat", child(placements=placements), library_of(SQUAT), rule=AS_WRITTEN)
            assert said(fitted) == ["as written"]

    @pytest.mark.parametrize("rule", [EASIER, MEET])
    def test_without_a_placement_it_is_as_written_and_the_coach_is_told(self, rule):
        fitted = fit("squat", child(), library_of(SQUAT), rule=rule)
        assert fitted.outcome is Outcome.AS_WRITTEN
        assert said(fitted) == ["as written", "not placed on the pathway squat yet"]


class TestNoPathway:
    LIBRARY = library_of(march=exercise("march", minimum_age=8))

    def test_an_exercise_on_no_pathway_is_as_written(self):
        fitted = fit("march", child(), self.LIBRARY)
        assert (fitted.outcome, fitted.given.exercise) == (Outcome.AS_WRITTEN, "march")
        assert fitted.easier is None
        assert said(fitted) == [
            "as written",
            "march is on no pathway, so there is nothing to move to",
        ]

    def test_or_the_coach_decides(self):
        fitted = fit("march", child(age=7), self.LIBRARY)
        assert fitted.outcome is Outcome.COACH_DECIDES
        assert said(fitted) == [
            "march is for 8 years and older",
            "march is on no pathway, so there is nothing to move to",
        ]


class TestTwoPathways:
    LUNGE = pathway("lunge", "stand split")
    SINGLE = pathway("single-leg", "hinge split")

    def test_the_one_where_the_child_is_placed_counts(self):
        library = library_of(self.LUNGE, self.SINGLE)
        fitted = fit("split", child(placements={"single-leg": "hinge"}), library)
        assert fitted.given.exercise == "hinge"

    @pytest.mark.parametrize(
        "placements", [{}, {"lunge": "stand", "single-leg": "hinge"}], ids=["neither", "both"]
    )
    def test_between_equals_it_is_the_first_by_slug(self, placements):
        library = library_of(self.SINGLE, self.LUNGE, split=exercise("split", is_available=False))
        assert fit("split", child(placements=placements), library).given.exercise == "stand"

    def test_a_placement_that_is_no_longer_there_does_not_count(self):
        library = library_of(self.LUNGE, self.SINGLE)
        unhinged = child(placements={"single-leg": "gone", "lunge": "stand"})
        assert fit("split", unhinged, library).given.exercise == "stand"

    def test_one_that_makes_sense_goes_before_one_that_does_not(self):
        senseless = pathway("a-circle", "stand split stand")
        library = library_of(senseless, self.SINGLE, split=exercise("split", is_available=False))
        assert fit("split", child(), library).given.exercise == "hinge"


class TestContradiction:
    CIRCLE = pathway("squat", "half squat half")
    LIBRARY = library_of(CIRCLE, pathway("push", "wall floor"))
    TOLD = (
        "the pathway squat contradicts itself, as Half is easier than Squat, and Squat is easier "
        "than Half; until that is put right, nothing on it is made easier or harder"
    )

    def test_what_is_allowed_stays_as_written_and_the_coach_is_told(self):
        for someone in (child(), child(placements={"squat": "squat"})):
            fitted = fit("squat", someone, self.LIBRARY)
            assert (fitted.outcome, fitted.easier) == (Outcome.AS_WRITTEN, None)
            assert said(fitted) == ["as written", self.TOLD]

    def test_a_child_placed_elsewhere_may_not_be_ready_so_the_coach_decides(self):
        fitted = fit("squat", child(placements={"squat": "half"}), self.LIBRARY)
        assert fitted.outcome is Outcome.COACH_DECIDES
        assert said(fitted) == [self.TOLD]

    def test_as_written_for_all_is_as_written(self):
        fitted = fit("squat", child(placements={"squat": "half"}), self.LIBRARY, rule=AS_WRITTEN)
        assert fitted.outcome is Outcome.AS_WRITTEN

    def test_hard_limits_still_hold(self):
        library = library_of(self.CIRCLE, squat=exercise("squat", minimum_age=14))
        fitted = fit("squat", child(), library)
        assert fitted.outcome is Outcome.COACH_DECIDES
        assert said(fitted) == ["squat is for 14 years and older", self.TOLD]

    def test_the_coach_may_still_choose(self):
        fitted = fit("floor", child(overrides={"slot": "squat"}), self.LIBRARY)
        assert (fitted.outcome, fitted.easier) == (Outcome.COACH_CHOICE, None)

    def test_the_other_pathways_are_fitted_as_ever(self):
        assert (
            fit("floor", child(placements={"push": "wall"}), self.LIBRARY).given.exercise == "wall"
        )

    def test_a_lateral_that_says_a_progression_is_as_hard_is_a_contradiction_too(self):
        library = library_of(pathway("squat", "half squat", laterals=["half squat"]))
        assert (
            "Half is easier than Squat, and Squat is as hard as Half"
            in said(fit("squat", child(), library))[1]
        )


class TestSlot:
    def test_an_exercise_that_is_not_in_the_library_is_the_coachs_to_decide(self):
        fitted = fit("cartwheel", child(), library_of(SQUAT))
        assert fitted.outcome is Outcome.COACH_DECIDES
        assert said(fitted) == ["the exercise is not in the library"]

    def test_the_coach_may_choose_in_its_place_and_it_gets_its_usual_dose(self):
        fitted = fit("cartwheel", child(overrides={"slot": "half"}), library_of(SQUAT), amount=3)
        assert (fitted.outcome, fitted.given.dose.amount) == (Outcome.COACH_CHOICE, 8)

    def test_or_leave_it_out(self):
        fitted = fit("cartwheel", child(overrides={"slot": None}), library_of(SQUAT))
        assert fitted.outcome is Outcome.LEFT_OUT

    def test_an_amount_that_was_seconds_before_the_exercise_changed_is_told(self):
        fitted = fit("squat", child(), library_of(SQUAT), amount=100)
        assert fitted.outcome is Outcome.COACH_DECIDES
        assert said(fitted) == ["100 repetitions is out of range: choose 1 to 60."]

    def test_a_retired_exercise_is_replaced(self):
        library = library_of(SQUAT, squat=exercise("squat", is_available=False))
        fitted = fit("squat", child(), library)
        assert said(fitted)[0] == "squat is not in use now: half instead"


def test_an_exercise_with_impossible_amounts_is_refused_before_it_can_be_given():
    with pytest.raises(ValueError, match="61 repetitions is out of range"):
        FitExercise(
            slug="squat", name="Squat", measure=Measure.REPETITIONS, amounts=DoseRange(1, 8, 61)
        )


def test_a_session_without_slots_and_a_cohort_without_children_are_fine():
    assert fit_session([], child(), library_of(SQUAT)) == ()
    assert fit_cohort([slot("squat")], [], library_of(SQUAT)) == {}
