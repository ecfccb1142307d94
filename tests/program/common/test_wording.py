import pytest

from library.tempo import Tempo
from program.common.wording import (
    EFFORT,
    ENJOYMENT,
    dose_in_words,
    effort_in_words,
    minutes,
    nth_of,
    number,
    tempo_in_words,
    why,
)
from program.engine.dose.dose import Dose, Measure, Sides
from program.family.day_page import how_rounds_go

SPARED = {
    "code": "restricted",
    "region": "knee",
    "side": "left",
    "kind": "no_loading",
    "instead": "Wall sit",
}


@pytest.mark.parametrize(
    ("tempo", "words"),
    [
        ("3-1-1-0", "3 s down, 1 s still, 1 s up"),
        ("3-0-X-0", "3 s down, fast up"),
        ("X-2-1-1", "fast down, 2 s still, 1 s up, 1 s still at the top"),
    ],
)
def test_a_tempo_is_told_phase_by_phase_and_what_takes_no_time_is_left_out(tempo, words):
    assert tempo_in_words(Tempo.parse(tempo)) == words


def test_a_dose_says_how_much_and_how_slowly():
    slow = Dose(Measure.REPETITIONS, 8, Sides.EACH, Tempo.parse("3-1-1-0"))
    assert dose_in_words(slow) == "8 each side, 3 s down, 1 s still, 1 s up"
    assert dose_in_words(Dose(Measure.SECONDS, 20)) == "20 seconds"


@pytest.mark.parametrize(
    ("index", "total", "words"),
    [(0, 1, ""), (0, 2, "1st of two"), (2, 3, "3rd of three"), (20, 21, "21st of 21")],
)
def test_a_session_is_counted_within_its_week(index, total, words):
    assert nth_of(index, total) == words


def test_small_numbers_are_words():
    assert [number(n) for n in (0, 1, 9, 10)] == ["no", "one", "nine", "10"]


def test_a_session_is_never_called_shorter_than_a_minute():
    assert [minutes(seconds) for seconds in (0, 29, 89, 91, 1320)] == [1, 1, 1, 2, 22]


def test_every_number_of_effort_and_enjoyment_has_words_of_its_own():
    assert len(set(EFFORT)) == 11
    assert len(set(ENJOYMENT)) == 5
    assert effort_in_words(0) == "effort 0 of 10 (nothing at all)"
    assert effort_in_words(10) == "effort 10 of 10 (all I had)"


def test_a_reason_that_names_the_exercise_stands_alone():
    said = why("Wall sit", [SPARED])
    assert said == "The left knee is being spared, so it is wall sit this time."


def test_a_reason_that_does_not_name_the_exercise_gets_its_name():
    said = why("Wall sit", [{"code": "coach_chose", "exercise": "Wall sit"}])
    assert said == "Wall sit: the coach chose this one."


def test_an_exercise_changed_without_a_reason_is_at_least_named():
    assert why("Wall sit", []) == "Wall sit"


@pytest.mark.parametrize(
    ("kind", "rounds", "rest", "exercises", "words"),
    [
        ("straight", 1, 30, 4, "One round."),
        ("straight", 3, 0, 1, "Three rounds."),
        ("straight", 2, 30, 2, "Two rounds: all rounds of an exercise, then the next. "
                               "Rest 30 seconds between rounds."),
        ("circuit", 3, 0, 4, "Three rounds: one of each exercise, then again from the first."),
        ("warm_up", 2, 0, 4, "Two rounds: one of each exercise, then again from the first."),
    ],
)  # fmt: skip
def test_how_a_parts_rounds_go_is_said_to_a_parent(kind, rounds, rest, exercises, words):
    assert how_rounds_go(kind, rounds, rest, exercises) == words
