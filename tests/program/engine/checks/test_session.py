"""Every check of a session, on sessions whose numbers are added up beside them."""

import datetime as dt
from dataclasses import replace

import pytest

from library.landing import ContactClass
from program.engine.checks import (
    RULES,
    Asked,
    CheckedChild,
    CheckedSession,
    CheckedSlot,
    Elsewhere,
    Level,
    Limit,
    Setting,
    check_session,
)
from program.engine.checks.rules import COMMON_PRACTICE, HOUSE_RULE
from program.engine.dose.dose import Dose, DoseRange, Measure, Sides


def slot(pattern="squat", amount=8, rounds=2, sides=Sides.BOTH, contacts=0.0, **more):
    measure = more.pop("measure", Measure.REPETITIONS)
    dose = Dose(measure, amount, sides, contacts=contacts)
    return CheckedSlot(more.pop("name", "Free squat"), pattern, dose, rounds, **more)


MONDAY = dt.date(2026, 11, 23)
GYMNASTS, SWIMMERS = 7, 8


def children(*ceilings: int, elsewhere=()) -> tuple[CheckedChild, ...]:
    """Children 1, 2, … with these ceilings; the first has these sessions in other groups."""
    first, *others = ceilings
    return (
        CheckedChild(1, first, tuple(elsewhere)),
        *(CheckedChild(key, each) for key, each in enumerate(others, start=2)),
    )


# Six minutes of warm-up, twenty in all, one exercise: nothing to look at.
CALM = CheckedSession(
    slots=(slot(),),
    seconds=20 * 60,
    target_minutes=25,
    is_at_home=True,
    warm_up_seconds=6 * 60,
    on=MONDAY,
    children=children(60, 80),
    families=10,
)


def found(settings=None, **changes) -> list[tuple[str, str]]:
    told = check_session(replace(CALM, **changes), settings or {})
    return [(each.code, each.sentence) for each in told]


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
    sentence = f"The warm-up takes {told}; 5 to 10 minutes are usual."
    assert found(warm_up_seconds=seconds) == ([("warm_up_length", sentence)] if told else [])


def test_a_session_is_long_from_a_tenth_over_the_target():
    # 25 min wanted: a tenth over is 27.5 min, 1650 s.
    assert found(seconds=1650) == []
    assert found(seconds=1651) == [("length", "3 minutes longer than you wanted.")]


def test_ninety_minutes_are_too_long_for_eight_year_olds_and_not_at_fifteen():
    """45 minutes below nine, 60 below twelve, 75 below fifteen, 90 from then on."""
    ages = (8, 9, 12, 15)
    group = tuple(CheckedChild(key, 80, age=age) for key, age in enumerate(ages, start=1))

    def told(minutes: int, settings=None) -> list:
        session = replace(CALM, children=group, seconds=minutes * 60, target_minutes=minutes)
        return check_session(session, settings or {})

    assert told(45) == ()
    (result,) = told(90)
    assert result.sentence == (
        "90 minutes: more than is usual for 3 of 4 children at their age; the youngest is 8, where"
        " at most 45 are."
    )
    assert (result.code, result.found, result.who) == ("length_for_age", 90, (1, 2, 3))
    assert [each.who for each in told(61)] == [(1, 2)]
    assert told(90, {"length_for_age": Setting(limit=Limit(most=200))}) == ()


@pytest.mark.parametrize(
    ("pattern", "amount", "told"),
    [
        ("squat", 5, "5 is outside the 6 to 15"),
        ("squat", 6, None),
        ("pull", 15, None),
        ("pull", 16, "16 is outside the 6 to 15"),
        ("mobility", 4, None),
    ],
)
def test_repetitions_outside_the_youth_range_are_noted(pattern, amount, told):
    sentences = [sentence for _, sentence in found(slots=(slot(pattern, amount),))]
    expected = f"Free squat: {told} that are usual for young people."
    assert sentences == ([expected] if told else [])


@pytest.mark.parametrize(
    ("pattern", "more", "landings"),
    [
        ("jump", {"amount": 2, "contacts": 1}, 2),
        ("jump", {"amount": 6, "contacts": 1}, None),
        ("land", {"amount": 7, "contacts": 1}, 7),
        ("land", {"amount": 3, "contacts": 3}, 9),  # two bounces and a freeze, three times
        ("land", {"amount": 5, "contacts": 1, "sides": Sides.EACH}, None),  # five a leg
        ("jump", {"amount": 4, "contacts": 2, "measure": Measure.SECONDS}, 8),
        ("jump", {"amount": 8, "contacts": 0}, None),
        ("skip", {"amount": 15, "contacts": 2, "measure": Measure.SECONDS}, None),
    ],
)
def test_three_to_six_are_the_landings_of_a_set(pattern, more, landings):
    told = [sentence for code, sentence in found(slots=(slot(pattern, **more),))]
    expected = (
        f"Free squat: {landings} landings in a set, outside the 3 to 6 that are usual for young"
        " people."
    )
    assert told == ([expected] if landings else [])


def test_a_hold_has_no_repetitions_to_judge():
    assert found(slots=(slot(amount=30, measure=Measure.SECONDS),)) == []


def test_an_amount_that_the_exercise_is_not_used_with_is_noted():
    of_its_own = DoseRange(8, 10, 12)
    assert found(slots=(slot(amount=12, amounts=of_its_own),)) == []
    assert found(slots=(slot(amount=7, amounts=of_its_own),)) == [
        ("own_range", "Free squat: 7 is less than the 8 to 12 it is used with.")
    ]
    assert found(slots=(slot(amount=13, amounts=of_its_own),)) == [
        ("own_range", "Free squat: 13 is more than the 8 to 12 it is used with.")
    ]


def test_more_than_three_sets_want_a_look_but_not_of_mobility():
    slots = (slot(rounds=4), slot("pull", name="Towel row", rounds=5), slot("mobility", rounds=4))
    assert found(slots=slots) == [("sets", "Free squat and Towel row: more than 3 sets.")]


# 15 s of skipping at 2 a second, 2 rounds: 60. Hops, 3 each side, 2 rounds: 12. Together 72.
HOPS_AND_ROPE = (
    slot("skip", 15, measure=Measure.SECONDS, contacts=2.0),
    slot("land", 3, sides=Sides.EACH, contacts=1.0),
)


def test_ground_contacts_add_up_over_rounds_and_sides_and_are_held_against_each_child():
    sentence = (
        "72 ground contacts: more than is usual for 2 of 3 children; the lowest ceiling here is 30."
    )
    # 30 is a seven-year-old's 60 in a growth spurt; 72 is within 80.
    assert found(slots=HOPS_AND_ROPE, children=children(60, 80, 30)) == [("contacts", sentence)]
    assert found(slots=HOPS_AND_ROPE, children=children(72)) == []
    assert found(slots=HOPS_AND_ROPE, children=()) == []


def test_a_ceiling_of_nothing_is_broken_by_the_first_contact_and_by_no_other_work():
    assert [code for code, _ in found(slots=HOPS_AND_ROPE, children=children(0))] == ["contacts"]
    assert found(children=children(0)) == []


def test_a_landing_before_anybody_is_placed_on_it_is_a_stop():
    hops = (slot("land", 3, contacts=1.0, name="Hop and freeze"),)
    sentence = "2 children meet Hop and freeze before anybody placed them on landing."
    assert found(slots=hops, not_placed_on_landing=(1, 2)) == [("landing_first", sentence)]
    assert found(not_placed_on_landing=(1, 2)) == []
    (told,) = check_session(replace(CALM, slots=hops, not_placed_on_landing=(1, 2)))
    assert told.level is Level.STOP


def test_an_odd_number_of_alternating_repetitions_favours_a_side():
    odd = (slot("crawl", 9, sides=Sides.ALTERNATING, name="Bird dog"),)
    sentence = "Bird dog: 9 gives one side one more than the other."
    assert found(slots=odd) == [("equal_sides", sentence)]


def test_what_most_families_lack_is_noted():
    # 6 of 10 is more than half, 5 of 10 is not.
    lacking = {"a stable seat": 6, "a skipping rope": 5}
    assert found(lacking=lacking) == [("kit", "6 families have no stable seat.")]
    assert found(lacking=lacking, is_at_home=False) == []


def test_an_exercise_that_nobody_has_the_things_for_wants_a_look():
    slots = (slot(name="Floor slide", is_for_nobody=True), slot())
    assert found(slots=slots) == [
        ("kit_of_nobody", "Floor slide: what it needs is not at anybody’s home.")
    ]
    assert found(slots=slots, is_at_home=False) == [
        ("kit_of_nobody", "Floor slide: what it needs is not at the venue.")
    ]


def test_a_watched_exercise_at_home_reminds_of_the_grown_up():
    watched = (slot("land", 3, name="Hop and freeze", is_watched=True),)
    assert found(slots=watched) == [
        ("supervision", "At home a grown-up has to watch: Hop and freeze.")
    ]
    assert found(slots=watched, is_at_home=False) == []


def test_an_exercise_twice_in_a_session_is_named_once():
    watched = (slot("land", 3, name="Hop and freeze", is_watched=True),) * 2
    assert found(slots=watched) == [
        ("supervision", "At home a grown-up has to watch: Hop and freeze.")
    ]


def test_what_wants_a_look_comes_before_what_is_only_noted():
    told = check_session(replace(CALM, seconds=9999, warm_up_seconds=60))
    assert [each.level for each in told] == [Level.LOOK, Level.NOTE]


class TestAProgramsOwnWord:
    def test_a_check_that_is_off_says_nothing(self):
        assert found({"warm_up": Setting(is_off=True)}, warm_up_seconds=None) == []

    def test_a_moved_limit_is_the_one_that_counts_and_is_named_as_the_programs_own(self):
        four = {"sets": Setting(limit=Limit(most=4))}
        assert found(four, slots=(slot(rounds=4),)) == []
        (told,) = check_session(replace(CALM, slots=(slot(rounds=5),)), four)
        assert told.sentence == "Free squat: more than 4 sets."
        assert (told.found, told.limit, told.is_own_limit) == (5, Limit(most=4), True)

    def test_the_usual_limit_is_not_the_programs_own(self):
        (told,) = check_session(replace(CALM, slots=(slot(rounds=5),)))
        assert (told.found, told.limit, told.is_own_limit) == (5, Limit(most=3), False)

    def test_a_range_is_moved_at_both_ends(self):
        tens = {"strength_repetitions": Setting(limit=Limit(10, 12))}
        outside = [9, 13]
        for amount in (9, 10, 12, 13):
            assert bool(found(tens, slots=(slot(amount=amount),))) == (amount in outside)


class TestWhatALimitMayBe:
    @pytest.mark.parametrize("most", [0, -1, 11, 10**9])
    def test_a_number_that_makes_no_sense_is_refused_with_those_that_do(self, most):
        assert RULES["sets"].refusal(Limit(most=most)) == "Choose between 1 and 10 sets."

    def test_the_least_is_not_above_the_most(self):
        refusal = RULES["warm_up_length"].refusal(Limit(10, 5))
        assert refusal == "The least cannot be more than the most."

    def test_an_end_that_the_rule_has_cannot_be_left_open(self):
        refusal = RULES["warm_up_length"].refusal(Limit(least=5))
        assert refusal == "Write a number: 5 to 10 minutes is usual."

    def test_every_usual_limit_is_itself_allowed(self):
        with_limit = [rule for rule in RULES.values() if rule.has_limit]
        assert {rule.refusal(rule.usual) for rule in with_limit} == {""}


def test_a_limit_is_said_with_its_unit():
    assert RULES["sets"].said(Limit(most=3)) == "at most 3 sets"
    assert RULES["sets"].said(Limit(most=1)) == "at most 1 set"
    assert RULES["rest_days"].said(Limit(least=1)) == "at least 1 day"
    assert RULES["warm_up_length"].said(Limit(1, 5)) == "1 to 5 minutes"
    assert RULES["warm_up"].said(Limit()) == ""


# Faigenbaum et al. 2009 (from memory) gives strength work as
# 1 to 3 sets of 6 to 15 repetitions on 2 to 3 non-consecutive days, power work as 3 to 6
# repetitions, and a warm-up of 5 to 10 minutes; Brenner & Watson 2024 one to two days off a week;
# handbooks (from memory) 80 to 100 contacts for grown beginners.
@pytest.mark.parametrize(
    ("code", "limit", "source"),
    [
        ("sets", Limit(None, 3), "Faigenbaum et al. 2009, from memory"),
        ("strength_repetitions", Limit(6, 15), "Faigenbaum et al. 2009, from memory"),
        ("power_repetitions", Limit(3, 6), "Faigenbaum et al. 2009, from memory"),
        ("warm_up_length", Limit(5, 10), "Faigenbaum et al. 2009, from memory"),
        ("strength_days", Limit(None, 3), "Faigenbaum et al. 2009, from memory"),
        ("rest_days", Limit(1, None), "Brenner & Watson 2024"),
        ("contacts", Limit(None, 100), "strength and conditioning handbooks, from memory"),
    ],
)
def test_the_usual_limits_are_the_published_ones(code, limit, source):
    assert (RULES[code].usual, RULES[code].source) == (limit, source)


def test_every_rule_names_its_source_and_says_what_it_looks_at():
    for rule in RULES.values():
        assert "" not in {rule.source, rule.title}
        assert rule.about.endswith(".")


def test_a_published_source_is_told_in_words_and_nothing_else_is_called_one():
    for rule in RULES.values():
        is_published = not rule.source.startswith((COMMON_PRACTICE, HOUSE_RULE))
        assert is_published == bool(rule.says), f"{rule.code}: what does its source say?"
        assert (rule.says or ".").endswith("."), rule.code
        ours = ("House rule: ", "Common practice: ")
        assert rule.beyond.startswith(ours) or not rule.beyond, rule.code


def test_a_landing_pattern_that_does_not_say_how_it_lands_wants_a_look():
    jump = slot("jump", name="Star jump", amount=5, contacts=1.0, unsaid="how high or on what")
    skip = slot("skip", name="Old skip", amount=5, contacts=1.0, unsaid="how often")
    assert [text for code, text in found(slots=(jump, skip)) if code == "landing_unsaid"] == [
        "Star jump: it does not say how high or on what; until it does it counts as landing, and"
        " hard.",
        "Old skip: it does not say how often; until it does it counts as landing, and hard.",
    ]
    assert found(slots=(slot("jump", amount=5, contacts=1.0),)) == []


TWENTY_HOPS = (slot("calf_ankle", amount=10, contacts=1.0),)
"""Two rounds of ten."""


def with_the_gymnasts(contacts: float, day: dt.date = MONDAY) -> Elsewhere:
    return Elsewhere(day, GYMNASTS, contacts)


def results(**changes):
    return check_session(replace(CALM, slots=TWENTY_HOPS, **changes))


def test_landings_with_another_group_that_day_count_for_the_child_who_has_them():
    """20 here and 41 with the gymnasts are 61 of 60 for the first child, and 20 for the second."""
    here = {"children": children(60, 60, elsewhere=[with_the_gymnasts(41)])}
    both = {each.code: each for each in results(**here)}
    assert set(both) == {"contacts", "sessions_a_day"}
    assert both["contacts"].sentence == (
        "20 ground contacts here and up to 41 in other groups that day: more than is usual for 1 "
        "child."
    )
    assert (both["contacts"].who, both["contacts"].groups) == ((1,), (GYMNASTS,))
    assert (
        both["sessions_a_day"].sentence == "1 child has another session that day in another group."
    )
    assert (both["sessions_a_day"].who, both["sessions_a_day"].groups) == ((1,), (GYMNASTS,))
    fits = children(60, elsewhere=[with_the_gymnasts(40)])
    assert [each.code for each in results(children=fits)] == ["sessions_a_day"]


def test_two_other_groups_add_up_and_another_day_does_not_count():
    swimming = Elsewhere(MONDAY, SWIMMERS, 16)
    tomorrow = with_the_gymnasts(60, MONDAY + dt.timedelta(days=1))
    three = [with_the_gymnasts(25), swimming, tomorrow]
    (over, often) = results(children=children(60, elsewhere=three))
    assert over.sentence.startswith("20 ground contacts here and up to 41 in other groups")
    assert over.groups == often.groups == (GYMNASTS, SWIMMERS)
    assert results(children=children(60, elsewhere=[tomorrow])) == ()


def hops_on_one_leg(each: int, rounds: int) -> tuple:
    return (slot("calf_ankle", each, rounds, Sides.EACH, 1.0, contact_class=ContactClass.ONE_LEG),)


def test_hops_on_one_leg_have_a_ceiling_of_their_own():
    """Three rounds of 6 a leg are 36: within the 60 and 80 of all contacts, and more than half of
    60, which is 30, but not than half of 80."""
    assert found(slots=hops_on_one_leg(6, 3)) == [
        (
            "contact_classes",
            "36 ground contacts on one leg: more than is usual for 1 of 2 children; the lowest"
            " ceiling for these here is 30.",
        )
    ]
    assert found(slots=hops_on_one_leg(5, 3)) == []


def test_hard_contacts_are_those_of_what_each_child_gets():
    """36 hops are written; the first child gets none of them, the second 42 from a height in their
    place, of the 20 that a quarter of 80 are."""
    calm, drops = Asked(0, 1200), Asked(42, 1200, contacts_by_class={ContactClass.FROM_HEIGHT: 42})
    first, second = children(60, 80)
    pair = (replace(first, asked=calm), replace(second, asked=drops))
    told = check_session(replace(CALM, slots=hops_on_one_leg(6, 3), children=pair))
    (hard,) = (each for each in told if each.code == "contact_classes")
    assert hard.sentence == (
        "42 ground contacts from a height: more than is usual for 1 of 2 children; the lowest"
        " ceiling for these here is 20."
    )
    assert hard.who == (2,)


def test_the_other_sessions_of_the_day_count_in_their_class_alone():
    """30 hops here; 3 more with the gymnasts are 33 of the 30 that half of 60 are, 40 small bounces
    there are none. 11 hops in the morning make 41 of 40 for the second child, too."""
    hops = {"contacts_by_class": {ContactClass.ONE_LEG: 3, ContactClass.LOW: 1}}
    gymnasts = with_the_gymnasts(4)._replace(**hops)
    facts = {"slots": hops_on_one_leg(5, 3), "children": children(60, 80, elsewhere=[gymnasts])}
    (told,) = (each for each in check_session(replace(CALM, **facts)) if "class" in each.code)
    assert told.sentence.startswith("33 ground contacts on one leg: more than is usual for 1 of 2")
    assert (told.who, told.groups) == ((1,), (GYMNASTS,))
    bounces = with_the_gymnasts(20)._replace(contacts_by_class={ContactClass.LOW: 20})
    facts["children"] = children(60, 80, elsewhere=[bounces])
    assert [each.code for each in check_session(replace(CALM, **facts))] == ["sessions_a_day"]

    morning = {"contacts_beside_by_class": {ContactClass.ONE_LEG: 11}}
    sentences = [each for code, each in found(slots=hops_on_one_leg(5, 3), **morning)]
    assert sentences == [
        "41 ground contacts on one leg: more than is usual for 2 of 2 children; the lowest ceiling"
        " for these here is 30."
    ]


def test_the_cohorts_own_other_session_of_the_day_counts_for_everybody():
    """41 in the morning and 20 in the evening are 61."""
    (over, often) = results(contacts_beside=41, sessions_beside=1, children=children(60, 80))
    assert over.sentence == (
        "61 ground contacts, 41 of them in another session of this day: more than is usual for 1 "
        "of 2 children; the lowest ceiling here is 60."
    )
    assert often.sentence == "2 sessions on this day; at most 1 is usual."
    assert (over.who, often.who) == ((), ())


def test_a_session_without_landings_is_no_matter_of_another_groups_landings():
    calm = check_session(replace(CALM, children=children(60, elsewhere=[with_the_gymnasts(90)])))
    assert [each.code for each in calm] == ["sessions_a_day"]


# As fitted


def fitted(key: int, contacts=0, minutes=20.0, ceiling=80, age=None, **more) -> CheckedChild:
    """A child of whom the session asks something else than is written."""
    asked = Asked(contacts, round(minutes * 60), **more)
    return CheckedChild(key, ceiling, age=age, asked=asked)


def told_of(code, *group, **changes) -> list[tuple[str, tuple[int, ...]]]:
    told = check_session(replace(CALM, children=group, **changes))
    return [(each.sentence, each.who) for each in told if each.code == code]


def test_ground_contacts_are_those_that_each_child_gets():
    """Written are 2 × 6 × 5 = 60."""
    hops = (slot("jump", 6, 2, contacts=5, name="Hop"),)
    plain, less, more = CheckedChild(1, 50), fitted(2, 40, ceiling=50), fitted(3, 90)
    assert told_of("contacts", plain, less, more, slots=hops) == [
        (
            "60 ground contacts: more than is usual for 1 of 3 children; the lowest ceiling here "
            "is 50.",
            (),
        ),
        (
            "Up to 90 ground contacts in what is chosen for 1 child: more than is usual; the lowest"
            " ceiling among them is 80.",
            (3,),
        ),
    ]
    # What lands though nothing that is written does, and what does not though it is written.
    assert [who for _, who in told_of("contacts", fitted(1, 81))] == [(1,)]
    assert told_of("contacts", fitted(1, 0, ceiling=50), slots=hops) == []


def test_landings_in_other_groups_come_on_top_of_what_the_child_gets():
    beside = (with_the_gymnasts(30),)
    more = replace(fitted(1, 60), elsewhere=beside)
    less = replace(fitted(2, 40), elsewhere=beside)
    assert told_of("contacts", more, less, slots=(slot("jump", 6, contacts=4),)) == [
        (
            "60 ground contacts here and up to 30 in other groups that day: more than is usual for"
            " 1 child.",
            (1,),
        )
    ]


def test_the_minutes_are_those_that_each_child_gets():
    # 25 wanted: a tenth over is 27.5.
    assert told_of("length", fitted(1, minutes=27.5), fitted(2, minutes=29)) == [
        ("Up to 4 minutes longer than you wanted in what is chosen for 1 child.", (2,))
    ]
    aged = fitted(1, minutes=46, age=8), CheckedChild(2, 80, age=8), fitted(3, minutes=46, age=9)
    assert told_of("length_for_age", *aged, target_minutes=50) == [
        (
            "46 minutes: more than is usual for 1 of 3 children at their age; the youngest is 8, "
            "where at most 45 are.",
            (1,),
        )
    ]
    # Less than is written: 61 minutes for eleven-year-olds, of whom one does 50.
    long = {"seconds": 61 * 60, "target_minutes": 61}
    aged = CheckedChild(1, 80, age=11), fitted(2, minutes=50, age=11)
    assert [who for _, who in told_of("length_for_age", *aged, **long)] == [(1,)]


def test_what_is_chosen_instead_may_want_a_grown_up_at_home():
    hang = fitted(2, watched=("Hang",))
    assert told_of("supervision", CheckedChild(1, 80), hang) == [
        ("At home a grown-up has to watch what 1 child gets instead: Hang.", (2,))
    ]
    assert told_of("supervision", hang, is_at_home=False) == []
    written = (slot(name="Hang", is_watched=True),)
    assert told_of("supervision", hang, slots=written) == [
        ("At home a grown-up has to watch: Hang.", ())
    ]


def test_what_comes_instead_and_asks_more_is_told_with_the_children():
    twice, both = fitted(1, takes_twice=True), fitted(2, 24, takes_twice=True, lands_more=True)
    assert told_of("asks_more", twice, both, fitted(3, 12), CheckedChild(4, 80)) == [
        ("1 child gets something that lands more often than what is written.", (2,)),
        ("2 children get something that takes at least twice as long as what is written.", (1, 2)),
    ]
