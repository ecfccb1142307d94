"""A session carried forward with a change: worked by hand, and true of any session."""

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.tempo import Tempo
from program.engine.copy_forward import DELOAD_SHARES, Beyond, Change, copied
from program.engine.dose.dose import Measure, Sides
from program.engine.dose.exchange import exchanged
from program.engine.outline import (
    PartOutline,
    SessionOutline,
    SlotOutline,
    is_work,
    session_as_data,
    session_from_data,
)
from program.engine.prescription import PRESCRIBED, Prescription
from program.engine.timeline import PartKind
from tests.support.engine_fitting import exercise, library_of, pathway

SQUATS = pathway("squats", "seat squat split")
LIBRARY = library_of(
    SQUATS,
    seat=exercise("seat", low=5, usual=8, high=12),
    squat=exercise("squat", low=5, usual=8, high=12, tempo=Tempo.parse("3-1-1-0")),
    split=exercise("split", low=4, usual=6, high=10, sides=Sides.EACH),
    plank=exercise("plank", low=10, usual=20, high=40, measure=Measure.SECONDS),
    march=exercise("march", low=6, usual=10, high=20, sides=Sides.ALTERNATING),
    crawl=exercise("crawl", low=5, usual=10, high=20, measure=Measure.METRES),
)


def slot(slug, amount, *, rule="easier_where_needed", max_steps_up=1, **asked):
    return SlotOutline(slug, Prescription(amount, **asked), rule, max_steps_up)


def session(*slots, rounds=3, name="Strong steps", warm=()):
    """A superset, and before it a warm-up where one is given."""
    parts = [PartOutline(name, PartKind.SUPERSET, rounds, 30, slots)]
    if warm:
        parts.insert(0, PartOutline("Before", PartKind.WARM_UP, 1, 0, warm))
    return SessionOutline("Monday", "home", 25, "Barefoot.", tuple(parts))


def amounts(carried):
    return [one.prescription.amount for one in carried.session.slots()]


def told(carried):
    return [(each.name, each.before, each.after) for each in carried.differences]


def whys(carried):
    return [each.why for each in carried.refusals]


def test_nothing_changes_where_nothing_is_asked_for():
    written = session(slot("squat", 8))
    carried = copied(written, Change.NOTHING, LIBRARY, times=5)
    assert carried.session == written
    assert (carried.differences, carried.refusals) == ((), ())


def test_two_repetitions_more_where_repetitions_are_counted_and_not_in_the_warm_up():
    written = session(slot("squat", 8), slot("plank", 20), warm=(slot("seat", 8),))
    carried = copied(written, Change.REPETITIONS, LIBRARY)
    assert amounts(carried) == [8, 10, 20]
    assert told(carried) == [("Squat", "8 times", "10 times")]


def test_five_seconds_more_where_seconds_are_counted():
    carried = copied(session(slot("squat", 8), slot("plank", 20)), Change.SECONDS, LIBRARY)
    assert amounts(carried) == [8, 25]
    assert told(carried) == [("Plank", "20 seconds", "25 seconds")]


def test_one_more_round_of_each_part_but_the_warm_up():
    written = session(slot("squat", 8), warm=(slot("seat", 8),))
    carried = copied(written, Change.ROUND, LIBRARY)
    assert [part.rounds for part in carried.session.parts] == [1, 4]
    assert told(carried) == [("Strong steps", "3 rounds", "4 rounds")]


def test_a_part_of_ten_rounds_gets_no_eleventh():
    carried = copied(session(slot("squat", 8), rounds=10), Change.ROUND, LIBRARY)
    assert carried.session.parts[0].rounds == 10
    assert whys(carried) == ["A part has at most 10 rounds, so it stays at 10."]


def test_a_deload_to_sixty_percent_gives_up_rounds_and_then_repetitions():
    # 3 × 8 are 24; 60 % are 14.4: two rounds of seven. The warm-up is not the load.
    written = session(slot("squat", 8), warm=(slot("seat", 12),))
    carried = copied(written, Change.DELOAD, LIBRARY)
    assert amounts(carried) == [12, 7]
    assert told(carried) == [
        ("Strong steps", "3 rounds", "2 rounds"),
        ("Squat", "8 times", "7 times"),
    ]
    # With it: 12 + 24 are 36; 60 % are 21.6. Eight and fourteen are 22, seven and fourteen 21.
    whole = copied(written, Change.DELOAD, LIBRARY, also={PartKind.WARM_UP})
    assert amounts(whole) == [8, 7]


@pytest.mark.parametrize(
    ("share", "rounds", "repetitions"),
    # 3 × 8 are 24. 40 % are 9.6: two rounds of the least, 5, are 10. 50 % are 12, two of six; 60 %
    # are 14.4, two of seven. 70 % are 16.8: two whole rounds are 16. 80 % are 19.2: three of six,
    # 18, are nearer than three of seven.
    [(40, 2, 5), (50, 2, 6), (60, 2, 7), (70, 2, 8), (80, 3, 6)],
)
def test_a_deload_leaves_the_share_of_the_work_that_the_coach_chose(share, rounds, repetitions):
    carried = copied(session(slot("squat", 8)), Change.DELOAD, LIBRARY, share=share)
    assert carried.session.parts[0].rounds == rounds
    assert amounts(carried) == [repetitions]
    assert whys(carried) == []


def test_what_a_deload_cannot_reach_is_held_against_the_share_that_was_chosen():
    # Five of six squats are left, 83 %, whatever was asked for.
    few = session(slot("squat", 6), rounds=1)
    for share in DELOAD_SHARES:
        assert amounts(copied(few, Change.DELOAD, LIBRARY, share=share)) == [5]
        assert whys(copied(few, Change.DELOAD, LIBRARY, share=share)) == [
            "Every exercise is at its least, and 83 % of the work are left."
        ]


def test_two_more_in_the_cool_down_alone_where_the_coach_says_so():
    ends = PartOutline("After", PartKind.COOL_DOWN, 1, 0, (slot("seat", 8),))
    written = session(slot("squat", 8), warm=(slot("seat", 8),))
    written = replace(written, parts=(*written.parts, ends))
    carried = copied(written, Change.REPETITIONS, LIBRARY, also={PartKind.COOL_DOWN})
    assert amounts(carried) == [8, 10, 10]


def test_a_deload_that_cannot_reach_its_share_says_how_much_is_left():
    # From six squats to the least of five in the one round there is: 5 of 6.
    carried = copied(session(slot("squat", 6), rounds=1), Change.DELOAD, LIBRARY)
    assert amounts(carried) == [5]
    assert whys(carried) == ["Every exercise is at its least, and 83 % of the work are left."]


@pytest.mark.parametrize(
    ("beyond", "amount", "why"),
    [
        (Beyond.STAY, 11, "13 is more than the 12 it is used with, so it stays at 11."),
        (Beyond.END, 12, "13 is more than the 12 it is used with, so it goes to 12."),
    ],
)
def test_a_dose_that_would_leave_its_range_stays_or_goes_to_the_end(beyond, amount, why):
    carried = copied(session(slot("squat", 11)), Change.REPETITIONS, LIBRARY, beyond=beyond)
    assert amounts(carried) == [amount]
    assert whys(carried) == [why]


def test_what_was_written_beyond_the_range_is_not_cut_by_asking_for_more():
    written = session(slot("squat", 15))
    for beyond in Beyond:
        assert amounts(copied(written, Change.REPETITIONS, LIBRARY, beyond=beyond)) == [15]


def test_week_by_week_a_change_builds_on_the_one_before_until_the_range_ends():
    # 8, 10, 12 and then no further.
    written = session(slot("squat", 8))
    stages = [copied(written, Change.REPETITIONS, LIBRARY, times=times) for times in (1, 2, 3, 4)]
    assert [amounts(stage) for stage in stages] == [[10], [12], [12], [12]]
    assert [bool(stage.refusals) for stage in stages] == [False, False, True, True]


def test_the_next_exercise_keeps_the_work_in_its_own_range_and_drops_the_note():
    # Both sides together become each side: the number stays, but ten is the most of a split.
    written = session(slot("squat", 12, tempo="3-1-1-0", note="Hold the chair.", rule="as_written"))
    carried = copied(written, Change.NEXT, LIBRARY)
    assert list(carried.session.slots()) == [slot("split", 10, rule="as_written")]
    assert told(carried) == [("Squat", "12 times", "Split, 10 each side")]


def test_the_top_of_a_pathway_and_what_is_on_none_say_so_and_stay():
    written = session(slot("split", 6), slot("plank", 20), slot("gone", 3))
    carried = copied(written, Change.NEXT, LIBRARY)
    assert carried.session == written
    assert whys(carried) == [
        "It is the hardest of Squats, so it stays.",
        "It stands on no pathway, so it stays.",
        "It is not in the library any more, so it stays as it is.",
    ]


def test_an_unpublished_next_exercise_is_not_taken():
    library = library_of(SQUATS, split=exercise("split", is_available=False))
    carried = copied(session(slot("squat", 8)), Change.NEXT, library)
    assert whys(carried) == ["What comes next on its pathway is not published, so it stays."]


def test_of_two_next_exercises_the_lower_one_is_taken():
    library = library_of(pathway("squats", "squat split single", "squat single"))
    carried = copied(session(slot("squat", 8)), Change.NEXT, library)
    assert [one.exercise for one in carried.session.slots()] == ["split"]


def test_an_exercise_may_be_exchanged_or_left_out_and_an_emptied_part_goes():
    written = session(slot("squat", 8, note="Slowly."), warm=(slot("seat", 8),))
    without = written.with_slots(lambda one: None if one.exercise == "seat" else slot("split", 6))
    assert [part.name for part in without.parts] == ["Strong steps"]
    assert list(without.slots()) == [slot("split", 6)]


def test_an_exercise_nobody_knows_any_more_is_exchanged_for_the_usual_of_the_new_one():
    gone = slot("gone", 33, rest_seconds=20, note="Slowly.", max_steps_up=2)
    assert exchanged(gone, None, LIBRARY.by_slug["squat"]) == slot(
        "squat", 8, tempo="3-1-1-0", rest_seconds=20, max_steps_up=2
    )


@pytest.mark.parametrize("change", [Change.ROUND, Change.REPETITIONS, Change.DELOAD, Change.NEXT])
def test_warm_up_and_cool_down_are_known_by_their_kind_and_stay_as_they_are(change):
    named = [("Warm-up", kind) for kind in PartKind]
    written = replace(
        session(slot("squat", 8)),
        parts=tuple(PartOutline(name, kind, 2, 30, (slot("squat", 8),)) for name, kind in named),
    )
    carried = copied(written, change, LIBRARY, beyond=Beyond.END).session
    stayed = [new.kind for old, new in zip(written.parts, carried.parts, strict=True) if old == new]
    assert stayed == [PartKind.WARM_UP, PartKind.COOL_DOWN]
    assert [part.kind for part in written.parts if not is_work(part)] == stayed


slots = st.builds(
    slot,
    st.sampled_from([*LIBRARY.by_slug, "gone"]),
    amount=st.integers(1, 60),
    tempo=st.sampled_from(["", "3-1-1-0"]),
    rest_seconds=st.sampled_from([None, 0, 20]),
    note=st.sampled_from(["", "Slowly."]),
)
parts = st.builds(
    PartOutline,
    name=st.sampled_from(["Warm-up", "Strong", "Core"]),
    kind=st.sampled_from(PartKind),
    rounds=st.integers(1, 10),
    rest_seconds=st.just(30),
    slots=st.lists(slots, max_size=3).map(tuple),
)
sessions = st.builds(
    SessionOutline,
    name=st.just("Monday"),
    place=st.sampled_from(["home", "venue"]),
    target_minutes=st.just(25),
    parts=st.lists(parts, max_size=2).map(tuple),
)


def outside(slot):
    """How far a dose lies outside its exercise's range."""
    amount = slot.prescription.amount
    return abs(amount - LIBRARY.by_slug[slot.exercise].amounts.clamp(amount))


@given(sessions, st.sampled_from(Change), st.sampled_from(Beyond), st.integers(0, 6))
def test_whatever_is_carried_stays_in_its_range_or_where_it_was(written, change, beyond, times):
    carried = copied(written, change, LIBRARY, times=times, beyond=beyond).session
    for old, new in zip(written.parts, carried.parts, strict=True):
        fewer, more = sorted((old.rounds, new.rounds), reverse=change is Change.DELOAD)
        assert (fewer, more) == (old.rounds, new.rounds)
        assert 1 <= new.rounds <= 10
        if not is_work(old):
            assert new == old
        for before, after in zip(old.slots, new.slots, strict=True):
            was, amount = before.prescription.amount, after.prescription.amount
            if after.exercise != before.exercise:
                assert amount in LIBRARY.by_slug[after.exercise].amounts
            elif after != before:
                assert outside(after) <= outside(before)
            if change is Change.DELOAD:
                assert amount <= was
            elif change is not Change.NEXT:
                assert amount >= was


@given(sessions, st.sampled_from(Change), st.integers(0, 3), st.integers(0, 3))
def test_a_change_made_twice_is_the_change_made_upon_the_change(written, change, one, two):
    at_once = copied(written, change, LIBRARY, times=one + two)
    after = copied(copied(written, change, LIBRARY, times=one).session, change, LIBRARY, times=two)
    assert at_once.session == after.session


@given(sessions)
def test_an_outline_survives_being_kept_as_json(written):
    assert session_from_data(json.loads(json.dumps(session_as_data(written)))) == written


KEPT = {
    "name": "Monday",
    "place": "home",
    "target_minutes": 25,
    "note": "",
    "parts": [
        {
            "name": "Strong",
            "kind": "superset",
            "rounds": 3,
            "rest_seconds": 30,
            "slots": [
                {
                    "exercise": "squat",
                    "amount": 8,
                    "tempo": "3-1-1-0",
                    "rest_seconds": 20,
                    "note": "Slowly.",
                    "rule": "meet_placement",
                    "max_steps_up": 2,
                },
                {
                    "exercise": "plank",
                    "amount": 20,
                    "tempo": "",
                    "rest_seconds": None,
                    "note": "",
                    "rule": "easier_where_needed",
                    "max_steps_up": 1,
                },
            ],
        }
    ],
}
"""A session of a template as the database holds it since there are templates."""


@pytest.mark.parametrize("field", PRESCRIBED[1:])
def test_a_template_from_before_a_slot_asked_for_such_a_thing_asks_for_the_usual(field):
    usual = getattr(Prescription(1), field)
    squat = {name: value for name, value in KEPT["parts"][0]["slots"][0].items() if name != field}
    kept = KEPT | {"parts": [KEPT["parts"][0] | {"slots": [squat]}]}
    (read,) = session_from_data(kept).slots()
    assert read.prescription.amount == 8
    assert getattr(read.prescription, field) == usual


def test_a_template_kept_long_ago_is_read_as_it_was_kept_and_kept_alike_today():
    read = session_from_data(KEPT)
    squat, plank = read.slots()
    assert squat == slot(
        "squat",
        8,
        tempo="3-1-1-0",
        rest_seconds=20,
        note="Slowly.",
        rule="meet_placement",
        max_steps_up=2,
    )
    assert plank == slot("plank", 20)
    assert json.loads(json.dumps(session_as_data(read))) == KEPT
