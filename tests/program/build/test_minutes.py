"""Cutting a session to some minutes, and taking what is proposed."""

import re
from html import unescape

import pytest
from django.urls import reverse

from program.build import undoing
from program.models import Part, Session, Slot
from tests.support.factories import (
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.markup import markup
from tests.support.planning import HTMX

pytestmark = pytest.mark.django_db


@pytest.fixture
def squats(cast) -> Slot:
    """Ten to get ready; thrice 12 squats of 5 s, and two rests of 30: 10 + 180 + 60 = 4:10."""
    session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
    part = PartFactory(session=session, name="Strong", kind="superset", rounds=3, rest_seconds=30)
    exercise = ExerciseFactory(revision__name="Squat", revision__low=6, revision__high=15)
    return SlotFactory(part=part, exercise=exercise, amount=12, tempo="3-1-1-0")


def text_of(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", unescape(markup(answer))).split())


def url(name, slot, *more) -> str:
    return reverse(f"program:{name}", args=[slot.part.session_id, *more])


def version_of(slot) -> int:
    return Session.objects.get(pk=slot.part.session_id).version


def made_up(slot) -> list:
    parts = Part.objects.filter(session=slot.part.session).values_list("rounds", "rest_seconds")
    slots = Slot.objects.filter(part__session=slot.part.session).values_list("amount", flat=True)
    return [*parts, *slots]


def test_the_page_says_where_the_minutes_go_and_they_add_up(coach, squats):
    page = text_of(coach.get(url("build", squats)))
    # Of the 4:10, 3:00 are work, 0:10 getting ready and 1:00 rests; the part is all there is.
    assert "4:10" in page
    assert "work 3:00" in page
    assert "setting up and moving on 0:10" in page
    assert "rests 1:00" in page
    assert "changing sides" not in page


def test_what_is_proposed_is_shown_first_then_taken_and_can_be_undone(coach, squats):
    shown = text_of(coach.get(url("session_minutes", squats), {"minutes": 3}, headers=HTMX))
    # Three minutes: a round goes, with 60 s of work and 30 of rest, and nothing else has to.
    assert "Strong 3 rounds → 2 rounds −1:30" in shown
    assert "4:10 → 2:40" in shown
    assert made_up(squats) == [(3, 30), 12]

    sent = {"minutes": 3, "session_version": version_of(squats)}
    answer = coach.post(url("session_minutes", squats), sent, headers=HTMX)
    assert answer.status_code == 200
    assert made_up(squats) == [(2, 30), 12]
    assert "Undo" in answer.content.decode()

    [edit] = undoing.edits_of(coach.session, squats.part.session_id)
    coach.post(url("undo_edit", squats), {"edit": edit.key}, headers=HTMX)
    assert made_up(squats) == [(3, 30), 12]


def test_without_scripting_it_is_a_page(coach, squats):
    page = coach.get(url("session_minutes", squats), {"minutes": 3})
    assert "3 rounds → 2 rounds" in text_of(page)
    sent = {"minutes": 3, "session_version": version_of(squats)}
    assert coach.post(url("session_minutes", squats), sent).url == url("build", squats)


def test_what_was_changed_meanwhile_is_not_cut_unseen(coach, squats):
    Session.objects.filter(pk=squats.part.session_id).update(version=7)
    sent = {"minutes": 3, "session_version": 6}
    answer = coach.post(url("session_minutes", squats), sent, headers=HTMX)
    assert answer.status_code == 409
    assert "was changed after this was worked out" in text_of(answer)
    assert made_up(squats) == [(3, 30), 12]


def test_a_session_that_cannot_come_so_low_says_how_low_it_can(coach, squats):
    # 10 s to get ready and one round of six: 40 s, and a minute is wanted of two squats of 30 s.
    SlotFactory(part=squats.part, position=1, exercise=squats.exercise, amount=6)
    SlotFactory(part=squats.part, position=2, exercise=squats.exercise, amount=6)
    shown = text_of(coach.get(url("session_minutes", squats), {"minutes": 1}, headers=HTMX))
    # Ready 10, thrice 30, and between them twice a breather of 10 and 5 to move on.
    assert "2:10 is as short as it gets" in shown
