"""No coach writes to a child what its guardians and the other coaches of its cohort cannot read.

Each text column there is says who reads it, and is filled with a word of its own; then every page
that a young athlete opens is opened by those others as well. What reaches nobody here is told
elsewhere: mails hold a given name and a link.
"""

import re
from dataclasses import dataclass

import pytest
from django.apps import apps
from django.db import transaction
from django.db.models import CharField, JSONField, TextField
from django.urls import reverse

from athletes.models import Cohort, Placement, Restriction
from library.models import ExerciseNote
from program.models import (
    AssignedSession,
    AssignedSlot,
    Completion,
    Override,
    PainReport,
    Question,
    Report,
    Resolution,
    Session,
    SessionNote,
    Slot,
    StandingDecision,
    StopReason,
)
from program.privacy.declarations import HELD
from program.privacy.declaring import Readers
from tests.support.addresses import ALLOWED, TABLED
from tests.support.asking import OWN, address_of
from tests.support.consents import said
from tests.support.factories import UserFactory
from tests.support.scene import NOW, signed_in

THE_CHILD = "the child, its guardians and the coaches of its cohort"
COACHES = "coaches"
ALL = "everybody in the program"
OFFICERS = "welfare officers, and whoever wrote it"

# Words of coaches, and of whoever else may write there.
WORDS = {
    "AccessRules": {"club_name": ALL},
    "AssignedSession": {"name": THE_CHILD, "note": THE_CHILD},
    "AssignedSlot": {"part_name": THE_CHILD, "note": THE_CHILD, "reasons": THE_CHILD},
    "Block": {"name": THE_CHILD, "aim": THE_CHILD},
    "BoardChange": {"sentence": COACHES},
    "Break": {"name": THE_CHILD},
    "CheckChange": {"reason": COACHES},
    "Cohort": {"name": ALL},
    "Completion": {"note": THE_CHILD},
    "Concern": {"about": OFFICERS, "text": OFFICERS, "happened": OFFICERS, "reporter": OFFICERS},
    "ConcernEntry": {"text": OFFICERS},
    "EarlierReport": {"written": COACHES, "words": COACHES, "correction": COACHES},
    "Erasure": {"ended_because": "guardians and head coaches"},
    "Override": {"note": COACHES, "because": COACHES},
    "PainReport": {"note": THE_CHILD, "taken_back_because": COACHES},
    "Part": {"name": COACHES},
    "Placement": {"why": COACHES},
    "Question": {"text": THE_CHILD, "answer": THE_CHILD},
    "Recall": {"reason": COACHES},
    "Report": dict.fromkeys(
        ("own_practised", "own_learnt", "own_consistency", "own_ahead", "words", "correction"),
        THE_CHILD,
    )
    | {"written": THE_CHILD},
    "Resolution": {"sentence": COACHES},
    "Restriction": {"note": THE_CHILD},
    "SafetyRules": {"call_whom": ALL, "call_number": ALL},
    "Session": {"name": COACHES, "note": COACHES, "called_off_because": THE_CHILD},
    "SessionNote": {"text": COACHES},
    "Slot": {"note": COACHES},
    "StandingDecision": {"note": COACHES, "because": COACHES},
    "StopReason": {"sentence": COACHES, "reason": COACHES},
    "Submission": {"sentence": THE_CHILD, "payload": THE_CHILD},
    "TakenOutSession": {"name": ALL},
    "Template": {"name": COACHES, "content": COACHES},
    "WelfareWords": {"whom_to_ring": ALL, "emergency_number": ALL},
}
NO_WORDS = {
    "AssignedSession": {"fingerprint"},
    "AssignedSlot": {"tempo", "easier_tempo"},
    "BoardChange": {"made", "moved", "dropped"},
    "CalendarFeed": {"key_digest"},
    "CheckChange": {"code"},
    "Child": {"given_name", "family_initial"},
    "Erasure": {"counts"},
    "IdempotencyKey": {"digest"},
    "ImportDraft": {"table"},
    "Invitation": {"token_digest", "email"},
    "OutgoingMail": {"to", "subject", "body", "headers", "message_id"},
    "Progression": {"session_name"},
    "Question": {"upload"},
    "RecordedChange": {"table", "request", "before", "after"},  # no coach writes there
    "Resolution": {"finding", "action", "before"},
    "Session": {"published_from"},
    "SignIn": {"key_digest", "device"},
    "StandingDecision": {"missing"},  # as the library calls it
    "Slot": {"tempo"},
    "StopReason": {"code"},
    "User": {"password", "email", "name"},
}
"""Names, keys, and what Fledge itself writes. The library's texts are every coach's, of no child
and behind no cohort, but for the notes of `ExerciseNote`, which are filled as well."""

ONES_OWN = {"sign_in", "concern", "copy", "draft"}
"""Kinds of things of which everybody has their own."""

# Of which the scene holds rows, and what else such a row needs.
FILLED = {
    (AssignedSession, "note"): {},
    (AssignedSession, "name"): {},
    (AssignedSlot, "note"): {},
    (Completion, "note"): {},
    (ExerciseNote, "text"): {},
    (Override, "note"): {},
    (PainReport, "note"): {},
    (Placement, "why"): {},
    (Question, "text"): {},
    (Question, "answer"): {"answered_at": NOW},
    (Report, "own_practised"): {},
    (Report, "own_ahead"): {},
    (Report, "words"): {},
    (Resolution, "sentence"): {},
    (Restriction, "note"): {},
    (Session, "note"): {},
    (Session, "called_off_because"): {},
    (SessionNote, "text"): {},
    (Slot, "note"): {},
    (StandingDecision, "note"): {},
    (StopReason, "reason"): {},
}

ROWS = {(Session, "called_off_because"): {"called_off_at__isnull": False}}
"""Where not every row may hold a word."""


def text_columns():
    """What somebody may write into, by table."""
    return {
        model.__name__: {
            field.name
            for field in model._meta.local_fields
            if isinstance(field, CharField | TextField | JSONField) and not field.choices
        }
        for label in ("athletes", "program")
        for model in apps.get_app_config(label).get_models()
    }


def test_every_text_column_says_who_reads_it():
    declared = {
        name: set(WORDS.get(name, ())) | NO_WORDS.get(name, set()) for name in text_columns()
    }
    assert text_columns() == declared, "say in WORDS who reads it, or in NO_WORDS that it is none"


def test_what_a_child_reads_is_declared_on_the_page_on_privacy_as_the_familys():
    told = {Readers.FAMILY_AND_COACHES, Readers.GUARDIANS_AND_COACHES}
    of_a_child = [held for held in HELD if THE_CHILD in WORDS.get(held.model.__name__, {}).values()]
    wrong = [held.model.__name__ for held in of_a_child if held.readers not in told]
    assert len(of_a_child) > 5
    assert wrong == []


LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True)
class Word:
    column: str
    word: str


def fill():
    """A word of its own in each of these columns."""
    words = []
    for number, ((model, column), also) in enumerate(FILLED.items()):
        word = f"Zq said {LETTERS[number]} in class qz"
        rows = model._base_manager.filter(**ROWS.get((model, column), {}))
        assert rows.update(**{column: word}, **also), f"no {model.__name__} is there"
        words.append(Word(f"{model.__name__}.{column}", word))
    return words


def pages_of_an_athlete(scene, child):
    """The addresses that an athlete may look at, of whatever is not each person's own; where one
    leads on, where it leads to."""
    for name in TABLED:
        row = ALLOWED[name]
        shows = "athlete" in row.door and row.allowed("GET", "athlete", htmx=False)
        if shows and not ONES_OWN & set(row.ids):
            address = address_of(scene, name, "athlete", (OWN,) * len(row.ids))
            answer = child.get(address)
            yield answer.headers.get("Location", address)
            yield from (address + query for query in row.queries)


def read_at(client, address, words):
    """The columns whose word stands on the page."""
    text = b"".join(client.get(address)).decode(errors="replace")
    found = set(re.findall(r"Zq said . in class qz", text))
    return {each.column for each in words if each.word in found}


@pytest.fixture
def filled(scene):
    """The scene with a second coach and a second guardian, and a word in every column."""
    with transaction.atomic():
        second = UserFactory(name="Second Coach", role="coach")
        Cohort.objects.get(pk=scene.own.cohort.pk).coaches.add(second)
        other = UserFactory(name="Second Parent")
        scene.own.child.guardianships.create(guardian=other)
        said(scene.own.child, other)
        SessionNote.objects.create(session=scene.own.assigned.session, text="So.", written_at=NOW)
        scene.own.chain[1].notes.create(text="So.", kept_at=NOW, kept_by_name="Coach")
        people = [scene.people["guardian"], other, scene.people["coach"], second]
        others = {person.name: signed_in(person) for person in people}
        yield scene, signed_in(scene.people["athlete"]), others, fill()
        transaction.set_rollback(True)


def unread(addresses, child, others, words):
    """What a child reads and one of the others does not at the same address; and all it reads."""
    told, missing = set(), []
    for address in addresses:
        read = read_at(child, address, words)
        told |= read
        for name, client in others.items() if read else ():
            if lacks := read - read_at(client, address, words):
                missing.append((address, name, lacks))
    return missing, told


def test_what_a_child_reads_its_guardians_and_the_cohorts_coaches_read_at_the_same_address(
    filled, monkeypatch
):
    scene, child, others, words = filled
    addresses = dict.fromkeys(pages_of_an_athlete(scene, child))
    missing, told = unread(addresses, child, others, words)
    assert missing == []
    assert {"AssignedSession.note", "AssignedSlot.note", "Question.answer"} <= told
    assert {"Report.words", "ExerciseNote.text", "Restriction.note"} <= told
    assert told & for_coaches() == set()
    assert {f"{model.__name__}.{column}" for model, column in FILLED} - told <= for_coaches()

    # A word for the child alone would have been found.
    questions = type(Question.objects.all())
    seen = questions.visible_to
    monkeypatch.setattr(
        questions,
        "visible_to",
        lambda rows, user: seen(rows, user) if user.role == "athlete" else rows.none(),
    )
    ids = [scene.own.child.public_id, scene.own.assigned.public_id]
    missing, _ = unread([reverse("program:ask", args=ids)], child, others, words)
    assert {name for _, name, _ in missing} == set(others)
    assert all("Question.answer" in lacks for _, _, lacks in missing)


def for_coaches():
    return {
        f"{model}.{column}"
        for model, columns in WORDS.items()
        for column, who in columns.items()
        if who == COACHES
    }
