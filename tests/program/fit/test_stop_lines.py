"""Where a stop line or caution names a place, a child whose place it is gets something else.

"Go on without it" and the sparing of a place that hurts both leave out what a restriction "no
loading" rules out. So whatever an exercise tells a child to stop for has to be among its loads, or
be jarred by its landings.
"""

import pytest
from django.core.management import call_command

from library.body import Region, RestrictionKind, Side
from library.body_words import BODY_WORDS, body_words, regions_named
from program.common.library_snapshot import library_snapshot
from program.engine.fit.limits import Restriction

SLIPS = "the feet slip from where they should be; nothing there hurts"
HELD_SHAPE = "the hips leave the line, which is the sign that the trunk is tired"
HOLDS_ON = "says what the hand holds for balance"
TINGLES = "tingling comes from the neck or shoulder, which it loads; the hand does no work"
MEASURED = "says how far, not what hurts"
STANDS = "says where the feet go"
EXCEPTIONS = {
    ("arm-slide", "hand"): TINGLES,
    ("open-book", "hand"): TINGLES,
    ("bear-crawl-back", "hips"): HELD_SHAPE,
    ("plank", "hips"): HELD_SHAPE,
    ("shoulder-tap-plank", "hips"): HELD_SHAPE,
    ("sofa-push", "hips"): HELD_SHAPE,
    ("edge-heel-raise", "hand"): HOLDS_ON,
    ("supported-split-squat", "hand"): HOLDS_ON,
    ("free-squat", "hand"): "says that nobody pushes a child deeper by hand",
    ("sit-to-stand", "hands"): "says that the hands are not used",
    ("free-hinge", "hands"): MEASURED,
    ("half-squat", "heels"): "heels that come up say that the squat is too deep; none hurts",
    ("wall-toe-lift", "heels"): SLIPS,
    ("wall-hand-walk", "feet"): SLIPS,
    ("wall-push", "feet"): SLIPS,
    ("bar-hang", "foot"): STANDS,
    ("glute-bridge", "feet"): STANDS,
    ("supported-row", "feet"): STANDS,
    ("towel-door-row", "feet"): STANDS,
    ("side-leg-lift", "waist"): "says that the lift comes from the wrong place",
    ("side-leg-lift", "lower back"): "says that the lift comes from the wrong place",
    ("tight-towel-raise", "back"): "says that the back leans to help, not that it hurts",
    ("heel-dig-bridge", "leg"): "says what to do with the leg when the thigh cramps",
    ("inner-leg-lift", "leg"): "says that the leg is not lifted any more",
    ("crease-hinge", "leg"): "pain down a leg comes from the low back, which it loads",
}


@pytest.fixture
def starter(db):
    call_command("load_library")
    return library_snapshot()


def kept_in_spite_of(exercise, word) -> bool:
    """Whether some place that the word may mean does not rule the exercise out while it hurts."""
    return not all(
        Restriction(region, RestrictionKind.NO_LOADING, Side.LEFT).rules_out(exercise)
        for region in BODY_WORDS[word]
    )


def test_an_exercise_that_names_a_place_in_its_stop_line_or_caution_is_left_out_when_it_hurts(
    starter,
):
    kept = {
        (exercise.slug, word)
        for exercise in starter.fit.exercises
        for word in body_words(
            f"{starter.revisions[exercise.slug].stop} {starter.revisions[exercise.slug].caution}"
        )
        if kept_in_spite_of(exercise, word)
    }
    assert kept - EXCEPTIONS.keys() == set()
    assert EXCEPTIONS.keys() - kept == set(), "an exception that is not needed any more"


def test_a_stop_line_names_what_it_says_in_everyday_words():
    assert list(body_words("Stop when the cord above the heel or a calf hurts.")) == [
        "cord above the heel",
        "calf",
    ]
    assert regions_named("Kneeling is sore on the bump below the kneecap.") == {Region.KNEE}
    assert regions_named("It pulls near the sitting bone.") == {Region.HIP_GROIN}


def test_the_back_of_something_is_not_the_back():
    line = "Stop when the back of a knee hurts, the back foot's toes, or the low back."
    assert list(body_words(line)) == ["knee", "foot", "toes", "low back"]
    assert list(body_words("Its back stands against a wall, a hand's length away.")) == []
