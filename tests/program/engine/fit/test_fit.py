"""Fit: the order in which its rules speak, the coach's word, landings, the easier option."""

import pytest

from library.body import Region, RestrictionKind
from library.tempo import Tempo
from program.engine.dose.dose import Measure, Sides
from program.engine.fit.aim import Rule
from program.engine.fit.fitting import Outcome, fit_cohort, fit_session
from program.engine.fit.library import Need
from program.engine.fit.limits import Restriction
from program.engine.fit.reasons import Reason, ReasonCode, for_coach
from tests.support.engine_fitting import child, exercise, library_of, pathway, slot

AS_WRITTEN, EASIER, MEET = Rule

# Easier at the bottom; ~ is a lateral.
#
#     4      overhead
#     3   goblet ~ pause
#     2       squat
#     1    sit ~ hold
#     0       half
#
SQUAT = pathway(
    "squat",
    "half sit squat goblet overhead",
    "half hold squat pause overhead",
    laterals=["sit hold", "goblet pause"],
)
SEAT = Need("a stable seat", frozenset({"chair"}))
LOAD = Need("something to hug", frozenset({"backpack"}))
NO_KNEE = Restriction(Region.KNEE, RestrictionKind.NO_LOADING)


def fit(written, child, library, **facts):
    (fitted,) = fit_session([slot(written, **facts)], child, library)
    return fitted


def chosen(*arguments, **facts):
    given = fit(*arguments, **facts).given
    return given.exercise if given else None


def placed(exercise, **facts):
    return child(placements={"squat": exercise}, **facts)


class TestOrderOfRules:
    """Each test lets two neighbouring rules disagree and shows which one is heard."""

    def test_hard_limits_come_before_the_coachs_word(self):
        library = library_of(SQUAT, overhead=exercise("overhead", minimum_age=14))
        fitted = fit("squat", child(overrides={"slot": "overhead"}), library)
        assert fitted.outcome is Outcome.COACH_DECIDES
        assert [reason.code for reason in fitted.reasons] == [
            ReasonCode.CHOICE_NOT_SAFE,
            ReasonCode.TOO_YOUNG,
        ]

    def test_hard_limits_come_before_as_written(self):
        library = library_of(SQUAT, squat=exercise("squat", loads={Region.KNEE}))
        restricted = placed("squat", restrictions=(NO_KNEE,))
        assert chosen("squat", restricted, library, rule=AS_WRITTEN) == "hold"

    def test_the_coachs_word_comes_before_the_rule_and_the_placement(self):
        own_choice = placed("half", overrides={"slot": "overhead"})
        fitted = fit("squat", own_choice, library_of(SQUAT))
        assert (fitted.outcome, fitted.given.exercise) == (Outcome.COACH_CHOICE, "overhead")

    def test_the_rule_sets_the_target(self):
        library = library_of(SQUAT)
        for placement, rule, exercise_ in [
            ("half", AS_WRITTEN, "squat"),
            ("goblet", AS_WRITTEN, "squat"),
            ("half", EASIER, "half"),
            ("goblet", EASIER, "squat"),
            ("half", MEET, "half"),
            ("goblet", MEET, "goblet"),
            ("squat", MEET, "squat"),
        ]:
            assert chosen("squat", placed(placement), library, rule=rule) == exercise_

    def test_steps_up_come_before_the_placement(self):
        library = library_of(SQUAT)
        at_overhead = placed("overhead")
        assert chosen("sit", at_overhead, library, rule=MEET, max_steps_up=0) == "sit"
        assert chosen("sit", at_overhead, library, rule=MEET, max_steps_up=1) == "squat"
        # Two steps up are goblet and pause, both one below the placement and of one rank: by slug.
        assert chosen("sit", at_overhead, library, rule=MEET, max_steps_up=2) == "goblet"
        assert chosen("sit", at_overhead, library, rule=MEET, max_steps_up=3) == "overhead"

    def test_a_placement_that_nobody_has_seen_makes_it_easier_and_nothing_harder(self):
        library = library_of(SQUAT)
        far_up = placed("overhead", not_seen=frozenset({"squat"}))
        fitted = fit("squat", far_up, library, rule=MEET, max_steps_up=3)
        assert (fitted.outcome, fitted.given.exercise) == (Outcome.AS_WRITTEN, "squat")
        assert [reason.code for reason in fitted.reasons] == [ReasonCode.PLACEMENT_NOT_SEEN]
        low = placed("half", not_seen=frozenset({"squat"}))
        assert chosen("squat", low, library, rule=MEET, max_steps_up=3) == "half"
        assert chosen("squat", low, library) == "half"
        # Another pathway's says nothing here.
        elsewhere = placed("overhead", not_seen=frozenset({"hinge"}))
        assert chosen("squat", elsewhere, library, rule=MEET, max_steps_up=3) == "overhead"

    def test_steps_up_do_not_hold_anybody_down(self):
        assert (
            chosen("squat", placed("half"), library_of(SQUAT), rule=MEET, max_steps_up=0) == "half"
        )

    def test_a_growth_spurt_comes_before_the_steps_up(self):
        growing = placed("overhead", in_growth_spurt=True)
        fitted = fit("squat", growing, library_of(SQUAT), rule=MEET, max_steps_up=3)
        assert (fitted.outcome, fitted.given.exercise) == (Outcome.AS_WRITTEN, "squat")
        assert [reason.code for reason in fitted.reasons] == [ReasonCode.GROWTH_SPURT]

    def test_never_harder_than_the_placement_comes_before_nearest(self):
        # The placement cannot be done. Squat is one step away and allowed, but harder.
        library = library_of(SQUAT, sit=exercise("sit", needs=(SEAT,)))
        assert chosen("squat", placed("sit"), library) == "half"

    def test_never_harder_than_the_placement_holds_for_what_replaces_as_written(self):
        # Goblet, as written for all, cannot be done here. Squat is nearest, but beyond the child.
        library = library_of(SQUAT, goblet=exercise("goblet", needs=(LOAD,)))
        assert chosen("goblet", placed("sit"), library, rule=AS_WRITTEN) == "hold"

    def test_nearest_comes_before_easier(self):
        # Without goblet and squat: pause is beside at 1, the easier ones start at 2.
        library = library_of(
            SQUAT,
            goblet=exercise("goblet", needs=(LOAD,)),
            squat=exercise("squat", is_available=False),
        )
        assert chosen("goblet", placed("goblet"), library) == "pause"

    def test_easier_comes_before_the_lateral_at_one_distance(self):
        library = library_of(SQUAT, goblet=exercise("goblet", needs=(LOAD,)))
        assert chosen("goblet", placed("overhead"), library) == "squat"

    def test_the_lateral_comes_before_another_branch_at_one_distance(self):
        # From b, both a-lateral and aa-branch are two away; the slug alone would choose aa-branch.
        forked = pathway("forked", "in b", "in aa-branch", laterals=["b m", "m z-lateral"])
        library = library_of(
            forked,
            b=exercise("b", is_available=False),
            m=exercise("m", is_available=False),
            **{"in": exercise("in", is_available=False)},
        )
        assert chosen("b", child(), library) == "z-lateral"

    def test_the_lower_rank_comes_before_the_slug(self):
        forked = pathway("forked", "z top", "a b top")
        library = library_of(forked, top=exercise("top", is_available=False))
        assert chosen("top", child(), library) == "z"

    def test_the_slug_comes_last(self):
        library = library_of(SQUAT, squat=exercise("squat", is_available=False))
        assert chosen("squat", child(), library) == "hold"

    def test_where_nothing_is_left_the_coach_decides(self):
        library = library_of(SQUAT, half=exercise("half", needs=(SEAT,)))
        fitted = fit("half", child(), library)
        assert (fitted.outcome, fitted.given, fitted.easier) == (Outcome.COACH_DECIDES, None, None)
        assert [for_coach(reason) for reason in fitted.reasons][:2] == [
            "no stable seat",
            "nothing on the pathway squat is allowed; choose by hand, leave it out, "
            "or ask the family what is at home",
        ]


class TestOutcome:
    def test_a_lateral_is_neither_easier_nor_harder(self):
        fitted = fit("sit", placed("hold"), library_of(SQUAT), rule=MEET)
        assert (fitted.outcome, fitted.given.exercise) == (Outcome.OTHER, "hold")
        assert for_coach(fitted.reasons[0]) == "placed at another version of sit: hold instead"

    def test_what_is_above_the_written_exercise_is_harder(self):
        fitted = fit("squat", placed("pause"), library_of(SQUAT), rule=MEET)
        assert fitted.outcome is Outcome.HARDER
        assert for_coach(fitted.reasons[0]) == "placed above squat: pause instead"

    def test_one_decisive_reason_comes_before_what_led_to_it(self):
        library = library_of(SQUAT, sit=exercise("sit", needs=(SEAT,)))
        fitted = fit("squat", placed("sit"), library)
        assert [for_coach(reason) for reason in fitted.reasons] == [
            "no stable seat: half instead",
            "squat is beyond the placement",
        ]

    def test_another_branch_whose_beginnings_are_missing_is_beyond_the_placement(self):
        forked = pathway("squat", "in left1 left2", "in right1 right2")
        fitted = fit("right2", placed("left2"), library_of(forked))
        assert fitted.given.exercise == "right1"
        assert for_coach(fitted.reasons[0]) == "right2 is beyond the placement: right1 instead"

    def test_a_family_that_has_not_said_what_is_at_home_is_asked(self):
        library = library_of(SQUAT, goblet=exercise("goblet", needs=(LOAD,)))
        fitted = fit("goblet", child(kit=None), library)
        assert [reason.code for reason in fitted.reasons] == [
            ReasonCode.NEED_UNMET,
            ReasonCode.NOT_PLACED,
            ReasonCode.KIT_NOT_TOLD,
        ]


class TestDose:
    def test_as_written_keeps_amount_and_tempo_even_outside_the_range(self):
        library = library_of(SQUAT, squat=exercise("squat", high=12, tempo=Tempo(2, 0, 2, 0)))
        fitted = fit("squat", child(), library, amount=15, tempo="3-1-1-0")
        assert (fitted.given.dose.amount, fitted.given.dose.tempo) == (15, Tempo(3, 1, 1, 0))

    def test_without_a_tempo_of_its_own_a_slot_has_the_exercises(self):
        library = library_of(SQUAT, squat=exercise("squat", tempo=Tempo(2, 0, 2, 0)))
        assert fit("squat", child(), library).given.dose.tempo == Tempo(2, 0, 2, 0)

    def test_a_tempo_left_over_from_counting_repetitions_is_ignored(self):
        library = library_of(SQUAT, squat=exercise("squat", measure=Measure.SECONDS))
        fitted = fit("squat", child(), library, amount=20, tempo="3-1-1-0")
        assert fitted.given.dose.tempo is None

    def test_the_dose_moves_with_the_exercise_from_the_tempo_the_coach_wrote(self):
        hold = exercise("hold", measure=Measure.SECONDS, low=5, usual=20, high=60)
        fitted = fit("squat", placed("hold"), library_of(SQUAT, hold=hold), tempo="3-1-1-0")
        assert (fitted.given.exercise, fitted.given.dose.amount) == ("hold", 8 * 5)


class TestCoachsWord:
    def test_a_choice_from_anywhere_in_the_library_is_kept(self):
        push = pathway("push", "wall floor")
        fitted = fit("squat", child(overrides={"slot": "floor"}), library_of(SQUAT, push))
        assert (fitted.outcome, fitted.given.exercise) == (Outcome.COACH_CHOICE, "floor")
        assert fitted.easier.exercise == "wall"

    def test_choosing_what_was_written_is_still_the_coachs_choice(self):
        fitted = fit("squat", placed("half", overrides={"slot": "squat"}), library_of(SQUAT))
        assert (fitted.outcome, fitted.given.dose.amount) == (Outcome.COACH_CHOICE, 8)

    def test_leaving_out_is_told_and_costs_no_landings(self):
        jumps = pathway("jump", "snap jump")
        library = library_of(jumps, jump=exercise("jump", contacts=1))
        slots = [slot("jump", key="first"), slot("jump", key="second")]
        first, second = fit_session(
            slots, child(contact_ceiling=8, overrides={"first": None}), library
        )
        assert (first.outcome, first.given) == (Outcome.LEFT_OUT, None)
        assert for_coach(first.reasons[0]) == "left out by the coach"
        assert second.outcome is Outcome.AS_WRITTEN

    def test_it_holds_for_its_own_slot_and_child_alone(self):
        library = library_of(SQUAT)
        slots = [slot("squat", key="first"), slot("squat", key="second")]
        answers = fit_cohort(
            slots, [child("Ada", overrides={"first": "half"}), child("Ben")], library
        )
        assert [fitted.given.exercise for fitted in answers["Ada"]] == ["half", "squat"]
        assert [fitted.given.exercise for fitted in answers["Ben"]] == ["squat", "squat"]

    def test_a_choice_that_is_not_in_the_library_is_not_safe(self):
        fitted = fit("squat", child(overrides={"slot": "cartwheel"}), library_of(SQUAT))
        assert fitted.outcome is Outcome.COACH_DECIDES
        assert for_coach(fitted.reasons[0]) == "the coach’s choice cartwheel breaks a limit"

    def test_a_choice_that_passes_the_landings_of_the_session_is_not_safe(self):
        library = library_of(pathway("jump", "snap jump"), jump=exercise("jump", contacts=1))
        choice = child(contact_ceiling=7, overrides={"slot": "jump"})
        fitted = fit("snap", choice, library)
        assert [reason.code for reason in fitted.reasons] == [
            ReasonCode.CHOICE_NOT_SAFE,
            ReasonCode.TOO_MANY_CONTACTS,
        ]


class TestLandings:
    JUMPS = pathway("jump", "snap jump hop")
    LIBRARY = library_of(
        JUMPS,
        jump=exercise("jump", contacts=1),
        hop=exercise("hop", contacts=1, sides=Sides.EACH),
    )

    def fit_all(self, ceiling, *slots, **facts):
        answers = fit_session(slots, child(contact_ceiling=ceiling, **facts), self.LIBRARY)
        return [fitted.given.exercise for fitted in answers]

    def test_they_add_up_over_the_slots_in_order(self):
        two = [slot("jump", key="1"), slot("jump", key="2")]
        assert self.fit_all(16, *two) == ["jump", "jump"]
        assert self.fit_all(15, *two) == ["jump", "snap"]

    def test_every_round_counts(self):
        assert self.fit_all(24, slot("jump", rounds=3)) == ["jump"]
        assert self.fit_all(23, slot("jump", rounds=3)) == ["snap"]

    def test_both_sides_count(self):
        assert self.fit_all(16, slot("hop")) == ["hop"]
        assert self.fit_all(15, slot("hop")) == ["jump"]

    def test_what_was_replaced_leaves_room_for_later(self):
        slots = [slot("hop", key="1"), slot("jump", key="2")]
        # 16 for the hop would pass 12, so it is 8 for the jump; the second 8 would pass 12 too.
        assert self.fit_all(12, *slots) == ["jump", "snap"]
        assert self.fit_all(7, slot("hop", key="1"), slot("jump", 7, key="2")) == ["snap", "jump"]

    def test_a_growth_spurt_halves_them(self):
        assert self.fit_all(16, slot("jump"), in_growth_spurt=True) == ["jump"]
        assert self.fit_all(15, slot("jump"), in_growth_spurt=True) == ["snap"]

    def test_work_without_landings_is_free(self):
        assert self.fit_all(0, slot("snap", 20, rounds=5)) == ["snap"]

    @pytest.mark.parametrize(
        ("contacts", "ceiling", "amounts", "rounds"),
        [
            (1.1, 11, (5, 4, 1), 1),  # 5.5 + 4.4 + 1.1 = 11, but 11 - 5.5 - 4.4 < 1.1 in binary
            (0.1, 3, (6,), 5),  # 6 × 0.1 × 5 = 3, but 3.0000000000000004 in binary
        ],
    )
    def test_a_ceiling_that_is_just_reached_is_not_passed_by_a_binary_fraction(
        self, contacts, ceiling, amounts, rounds
    ):
        library = library_of(self.JUMPS, jump=exercise("jump", contacts=contacts))
        slots = [slot("jump", n, key=str(n), rounds=rounds) for n in amounts]
        answers = fit_session(slots, child(contact_ceiling=ceiling), library)
        assert {fitted.given.exercise for fitted in answers} == {"jump"}


class TestEasierOption:
    def test_it_is_the_nearest_regression_that_is_allowed(self):
        library = library_of(SQUAT, hold=exercise("hold", minimum_age=14))
        assert fit("squat", child(), library).easier.exercise == "sit"

    def test_its_dose_moves_along(self):
        hold = exercise("hold", measure=Measure.SECONDS, low=5, usual=10, high=20)
        easier = fit("squat", child(), library_of(SQUAT, hold=hold)).easier
        assert (easier.exercise, easier.dose.amount) == ("hold", 20)  # 8 × 3 s, at most 20

    def test_an_entry_has_none(self):
        assert fit("half", child(), library_of(SQUAT)).easier is None

    def test_it_has_no_more_landings_than_what_it_replaces(self):
        # Four hops each side land 8 times. Twelve jumps, the least that makes sense, would land
        # 12 times and might pass the session's ceiling behind its back.
        jumps = pathway("jump", "snap jump hop")
        library = library_of(
            jumps,
            jump=exercise("jump", contacts=1, low=12, usual=12),
            hop=exercise("hop", contacts=1, sides=Sides.EACH),
        )
        assert fit("hop", child(), library, amount=4).easier.exercise == "snap"

    def test_beyond_the_placement_it_leads_back_to_within_the_childs_reach(self):
        fitted = fit("overhead", placed("sit"), library_of(SQUAT), rule=AS_WRITTEN)
        assert (fitted.given.exercise, fitted.easier.exercise) == ("overhead", "sit")

    def test_within_the_childs_reach_comes_before_near_to_the_placement(self):
        # Placed at b, given d. Neither b nor a can be done; c is one from b, z is two from it.
        library = library_of(
            pathway("squat", "z a b c d"),
            a=exercise("a", is_available=False),
            b=exercise("b", is_available=False),
        )
        assert fit("d", placed("b"), library, rule=AS_WRITTEN).easier.exercise == "z"

    def test_where_nothing_within_reach_is_allowed_any_regression_is_better_than_none(self):
        library = library_of(SQUAT, half=exercise("half", is_available=False))
        fitted = fit("squat", placed("half"), library, rule=AS_WRITTEN)
        assert (fitted.given.exercise, fitted.easier.exercise) == ("squat", "hold")


# A little more than written, by the coach's word.


def given_with(more, *, amount=8, **circumstances):
    """What a child gets of a squat with 12 at most, and why."""
    squat = exercise("squat", high=12, contacts=circumstances.pop("contacts", 0))
    known = library_of(pathway("legs", "sit squat"), squat=squat)
    placed = child(placements={"legs": "squat"}, more=more, **circumstances)
    (fitted,) = fit_session([slot("squat", amount, rounds=2)], placed, known)
    return fitted


@pytest.mark.parametrize(
    ("more", "amount", "gets"),
    [
        ({"squat": 2}, 8, 10),
        ({"squat": 2}, 6, 8),  # a lighter week stays lighter
        ({"squat": 6}, 8, 12),  # the range's end
        ({"squat": 2}, 14, 14),  # written above the range: never less than written
        ({"sit": 2}, 8, 8),
    ],
)
def test_a_child_gets_so_much_more_than_written_within_the_range(more, amount, gets):
    assert given_with(more, amount=amount).given.dose.amount == gets


def test_more_is_said_with_its_number_and_unit():
    reasons = given_with({"squat": 1}).reasons
    assert reasons[-1] == Reason(ReasonCode.MORE, number=1, detail="repetition")
    assert [each.code for each in given_with({}).reasons] == [ReasonCode.AS_WRITTEN]


def test_nobody_gets_more_in_a_growth_spurt_or_beyond_the_landings_left():
    assert given_with({"squat": 2}, in_growth_spurt=True).given.dose.amount == 8
    # Two rounds of 10 would be 20 contacts of 19; of 8 they are 16.
    assert given_with({"squat": 2}, contacts=1, contact_ceiling=19).given.dose.amount == 8
    assert given_with({"squat": 2}, contacts=1, contact_ceiling=20).given.dose.amount == 10
