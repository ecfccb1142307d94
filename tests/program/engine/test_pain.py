"""What can be said to be wrong beside pain, and what a family does first."""

import pytest

from program.engine.pain import ENOUGH, FIRST_TO_DO, STOP_FOR, STOP_NOW, Pain, Symptom, first_to_do


def test_every_symptom_has_something_to_do_first():
    assert set(FIRST_TO_DO) == set(Symptom)


def test_what_the_stop_rules_name_can_be_said_and_holds_every_session_back():
    assert [symptom.label for symptom in STOP_FOR] == [
        "dizzy",
        "wheezing",
        "cannot get breath",
        "headache",
        "feels sick",
    ]
    assert all(Pain(None, symptom=symptom).is_warning for symptom in STOP_FOR)


@pytest.mark.parametrize(
    ("symptom", "words"),
    [
        ("wheeze", "inhaler"),
        ("wheeze", "ambulance"),
        ("headache", "sudden"),
        ("breath", STOP_NOW),
        ("sick", ENOUGH),
        ("dizzy", ENOUGH),
    ],
)
def test_what_is_done_first_names_when_help_is_called(symptom, words):
    assert words in first_to_do(Pain(None, symptom=Symptom(symptom)), 10)
