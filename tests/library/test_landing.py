"""What an exercise that jumps, lands or skips says of itself, and what is counted where it does
not."""

import pytest

from library.body import Region
from library.landing import (
    LANDING_PATTERNS,
    AsWritten,
    ContactClass,
    Unsaid,
    class_counted,
    contacts_counted,
    in_words,
    unsaid,
)
from library.models import Pattern

LEG = {Region.KNEE, Region.ANKLE, Region.FOOT}


def said(pattern="jump", measure="repetitions", contacts=0, no_landing_because="", how="low"):
    return AsWritten(pattern, measure, contacts, no_landing_because, how if contacts else "")


def missing(exercise, loads=LEG, *, names_a_floor=True):
    return unsaid(exercise, loads, names_a_floor=names_a_floor)


def test_the_patterns_that_land_are_patterns_of_the_library():
    assert set(Pattern.values) >= LANDING_PATTERNS == {"jump", "land", "skip"}


@pytest.mark.parametrize("pattern", sorted(LANDING_PATTERNS))
def test_a_jump_a_landing_and_a_skip_say_contacts_ankle_knee_and_floor(pattern):
    assert missing(said(pattern, contacts=1)) == ()
    assert missing(said(pattern)) == (Unsaid.CONTACTS, Unsaid.CLASS)
    assert missing(said(pattern, contacts=1, how="")) == (Unsaid.CLASS,)
    assert missing(said(pattern, contacts=1), {Region.KNEE}) == (Unsaid.ANKLE,)
    assert missing(said(pattern, contacts=1), {Region.ANKLE}) == (Unsaid.KNEE,)
    assert missing(said(pattern, contacts=1), names_a_floor=False) == (Unsaid.FLOOR,)
    assert missing(said(pattern), {Region.THIGH}, names_a_floor=False) == tuple(Unsaid)


def test_or_why_nothing_lands():
    held = said(no_landing_because="the toes stay on the floor")
    assert missing(held, {Region.THIGH}, names_a_floor=False) == ()
    assert contacts_counted(held) == 0


def test_of_another_pattern_nothing_is_asked():
    assert missing(said("squat"), {Region.THIGH}, names_a_floor=False) == ()
    assert contacts_counted(said("squat")) == 0
    assert contacts_counted(said("crawl", contacts=0.5)) == 0.5
    assert missing(said("crawl", contacts=0.5)) == ()


def test_but_how_hard_it_lands_where_it_does():
    assert missing(said("crawl", contacts=0.5, how="")) == (Unsaid.CLASS,)


def test_landings_are_as_hard_as_is_said_and_until_then_hard_but_for_a_skip():
    assert class_counted(said(contacts=1, how="one_leg")) is ContactClass.ONE_LEG
    assert class_counted(said(contacts=1, how="")) is ContactClass.HIGH
    assert class_counted(said("jump")) is ContactClass.HIGH
    assert class_counted(said("skip", contacts=2, how="")) is ContactClass.LOW
    assert class_counted(said("squat")) is ContactClass.LOW


@pytest.mark.parametrize(("measure", "usual"), [("repetitions", 1), ("seconds", 2), ("metres", 2)])
def test_where_a_landing_pattern_gives_no_contacts_the_usual_ones_are_counted(measure, usual):
    assert contacts_counted(said(measure=measure)) == usual
    assert contacts_counted(said(measure=measure, contacts=0.5)) == 0.5


def test_what_is_unsaid_reads_as_the_end_of_a_sentence():
    assert in_words(()) == ""
    assert in_words([Unsaid.KNEE]) == "that the knee carries load"
    assert in_words([Unsaid.CONTACTS, Unsaid.ANKLE, Unsaid.KNEE]) == (
        "how many ground contacts it has, that the ankle carries load or that the knee carries load"
    )
