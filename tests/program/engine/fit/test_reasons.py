"""Reasons as sentences, and reasons as stored."""

import json

import pytest

from library.body import Region, RestrictionKind, Side
from program.engine.fit.reasons import Reason, ReasonCode, for_coach, for_family

SLIDING = Reason(
    ReasonCode.NEED_UNMET,
    exercise="Leg slide",
    need="a smooth floor for sliding",
    instead="Heel walk-outs",
)
SPARED = Reason(
    ReasonCode.RESTRICTED,
    exercise="Jump and stick",
    region=Region.KNEE,
    side=Side.LEFT,
    kind=RestrictionKind.NO_LANDING,
    instead="Snap-down",
)


@pytest.mark.parametrize(
    ("reason", "coach", "family"),
    [
        (
            SLIDING,
            "no smooth floor for sliding: heel walk-outs instead",
            "There is no smooth floor for sliding, so it is heel walk-outs this time.",
        ),
        (
            SPARED,
            "no landing for the left knee: snap-down instead",
            "The left knee is being spared, so it is snap-down this time.",
        ),
        (
            Reason(ReasonCode.TOO_YOUNG, exercise="Tuck jump", number=10, instead="Snap-down"),
            "tuck jump is for 10 years and older: snap-down instead",
            "Tuck jump is for 10 years and older, so it is snap-down this time.",
        ),
        (
            Reason(ReasonCode.TOO_MANY_CONTACTS, exercise="Hop", number=60),
            "hop would pass 60 ground contacts",
            "There is enough landing in this session already.",
        ),
        (
            Reason(ReasonCode.LANDS_ELSEWHERE, exercise="Hop", number=40, detail="60"),
            "40 ground contacts in another session that day, and hop would pass 60 together",
            "There are 40 landings in another session that day.",
        ),
        (
            Reason(ReasonCode.STEPS_LIMITED, exercise="Squat", number=1, instead="Pause squat"),
            "placed higher, but only 1 step up is allowed: pause squat instead",
            "It gets harder one step at a time, so it is pause squat this time.",
        ),
        (
            Reason(ReasonCode.NOT_PLACED, pathway="Squat"),
            "not placed on the pathway squat yet",
            "No starting point has been set for this kind of exercise yet.",
        ),
        (Reason(ReasonCode.AS_WRITTEN), "as written", "This is what the coach wrote."),
    ],
)
def test_one_sentence_for_the_coach_and_one_for_the_family(reason, coach, family):
    assert for_coach(reason) == coach
    assert for_family(reason) == family


@pytest.mark.parametrize(
    ("need", "gone"),
    [
        ("a clear wall", "no clear wall"),
        ("an exercise mat", "no exercise mat"),
        ("something to hug", "nothing to hug"),
        ("two body lengths of floor", "not two body lengths of floor"),
        ("room to lie down", "no room to lie down"),
    ],
)
def test_a_need_is_missed_in_plain_words(need, gone):
    assert for_coach(Reason(ReasonCode.NEED_UNMET, need=need)) == gone


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (RestrictionKind.NO_LANDING, "no landing for the hip or groin"),
        (RestrictionKind.NO_LOADING, "no loading for the hip or groin"),
        (RestrictionKind.NOTHING, "nothing at all for the hip or groin"),
    ],
)
def test_a_restriction_of_both_sides_names_the_region_alone(kind, words):
    reason = Reason(ReasonCode.RESTRICTED, region=Region.HIP_GROIN, side=Side.BOTH, kind=kind)
    assert for_coach(reason) == words


@pytest.mark.parametrize(
    ("number", "words"),
    [(0, "no step up is allowed"), (1, "only 1 step up is"), (3, "only 3 steps up are")],
)
def test_steps_are_counted_in_good_english(number, words):
    assert words in for_coach(Reason(ReasonCode.STEPS_LIMITED, number=number))


def test_a_name_keeps_a_capital_that_is_not_just_its_first():
    assert for_coach(SLIDING._replace(instead="T-hold")).endswith(": T-hold instead")


@pytest.mark.parametrize("code", ReasonCode)
def test_every_code_has_a_sentence_for_both(code):
    reason = SPARED._replace(
        code=code, pathway="Squat", need="a wall", detail="a detail", number=2, instead=""
    )
    assert for_coach(reason)
    sentence = for_family(reason)
    assert sentence[0].isupper()
    assert sentence.endswith(".")
    assert not {"{", "None"} & set(sentence.split())


@pytest.mark.parametrize("reason", [SLIDING, SPARED, Reason(ReasonCode.STEPS_LIMITED, number=0)])
def test_a_reason_survives_being_stored(reason):
    assert Reason.from_json(json.loads(json.dumps(reason.to_json()))) == reason


def test_only_what_is_filled_in_is_stored():
    assert Reason(ReasonCode.AS_WRITTEN).to_json() == {"code": "as_written"}
    assert SPARED.to_json() == {
        "code": "restricted",
        "exercise": "Jump and stick",
        "region": "knee",
        "side": "left",
        "kind": "no_landing",
        "instead": "Snap-down",
    }


@pytest.mark.parametrize(
    "stored", [{"code": "no such code"}, {"code": "retired", "colour": "red"}, {}]
)
def test_anything_else_is_not_read_as_a_reason(stored):
    with pytest.raises((ValueError, TypeError)):
        Reason.from_json(stored)
