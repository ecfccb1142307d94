"""A family asks, the coach answers, and everybody who may see the child reads both."""

import datetime as dt

import html5lib
import pytest
from django.urls import reverse

from program.models import AssignedSession, Question, Resolution
from tests.support.family import EVENING, assign, give, text
from tests.support.queue import press, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening", "nothing_to_agree_to")]


@pytest.fixture
def session(cast):
    session = assign(cast.child)
    give(session, "Backpack row")
    return AssignedSession.objects.get(pk=session.pk)


def page(session) -> str:
    return reverse("program:ask", args=[session.child.public_id, session.public_id])


def ask(client, session, words="Her backpack is empty. What can she row?", **more):
    return client.post(page(session), {"slot": "", "text": words} | more)


def asked(session, by) -> Question:
    return Question.objects.create(
        child=session.child,
        assigned_session=session,
        exercise=session.slots.get().revision.exercise,
        text="What can she row?",
        asked_at=EVENING,
        asked_by=by,
    )


def answer(client, finding, words):
    return press(client, finding, "answer", words=words)


def test_a_parent_asks_about_an_exercise_and_the_coach_finds_it(cast, client_for, session):
    slot = session.slots.get()
    assert ask(client_for(cast.guardian), session, slot=slot.pk).headers["location"] == page(
        session
    )
    question = Question.objects.get()
    assert (question.asked_by, question.exercise, question.about) == (
        cast.guardian,
        slot.revision.exercise,
        "Backpack row",
    )
    (found,) = waiting(cast.coach)
    assert found.headline == "“Her backpack is empty. What can she row?”"
    assert found.evidence == ("Own Parent asks, Wednesday 4 November, 18:30, on Backpack row.",)


def test_pain_comes_before_a_question_and_a_question_before_the_rest(cast, session):
    asked(session, cast.guardian)
    cast.child.refits.create(what="kit", at=EVENING, changed=1, waiting=0, withdrawn=0)
    cast.child.pain_reports.create(region="knee", side="left", level=1, reported_at=EVENING)
    assert [each.kind for each in waiting(cast.coach)] == ["pain", "question", "changed"]


def test_the_answer_stands_where_every_guardian_and_coach_reads_it(cast, client_for, session):
    asked(session, cast.guardian)
    answer(client_for(cast.coach), waiting(cast.coach)[0], "A bag with two books.")
    question = Question.objects.get()
    assert (question.answer, question.answered_by, question.answered_at) == (
        "A bag with two books.",
        cast.coach,
        EVENING,
    )
    assert waiting(cast.coach) == []
    cast.child.guardianships.create(guardian=cast.nobody)
    for person in (cast.guardian, cast.nobody, cast.athlete, cast.head_coach):
        assert "A bag with two books." in text(client_for(person).get(page(session)))


@pytest.mark.parametrize("words", ["", "   ", "x" * 1001])
def test_no_words_or_too_many_are_no_answer(cast, client_for, session, words):
    asked(session, cast.guardian)
    answer(client_for(cast.coach), waiting(cast.coach)[0], words)
    assert Question.objects.get().answered_at is None
    assert Resolution.objects.count() == 0


def test_an_answer_is_taken_back(cast, client_for, session):
    asked(session, cast.guardian)
    coach = client_for(cast.coach)
    (found,) = waiting(cast.coach)
    answer(coach, found, "Two books.")
    coach.post(reverse("program:answer_back", args=[Resolution.objects.get().pk]))
    assert (Question.objects.get().answer, Question.objects.get().answered_at) == ("", None)
    assert [each.key for each in waiting(cast.coach)] == [found.key]


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"text": ""}, "Write what you would like to know."),
        ({"text": "x" * 601}, "At most 600 characters."),
        ({"slot": "999"}, "Choose one of this session’s exercises."),
    ],
)
def test_what_cannot_be_asked_is_said_and_what_was_typed_stays(
    cast, client_for, session, sent, said
):
    shown = text(ask(client_for(cast.guardian), session, **({"text": "What can she row?"} | sent)))
    assert said in shown
    assert sent.get("text", "What can she row?") in shown
    assert not Question.objects.exists()


def test_pressed_twice_it_is_asked_once(cast, client_for, session):
    parent = client_for(cast.guardian)
    for _ in range(2):
        ask(parent, session, once="a-key")
    assert Question.objects.count() == 1


def test_a_family_member_asks_eight_times_a_day_and_the_limit_stands_by_the_form(
    cast, client_for, session, monkeypatch
):
    parent, other, coach = map(client_for, (cast.guardian, cast.athlete, cast.coach))
    assert "Up to 8 questions a day" in text(parent.get(page(session)))
    assert "questions a day" not in text(coach.get(page(session)))
    for number in range(8):
        assert ask(parent, session, f"Question {number}?", once=f"{number}").status_code == 302
    ninth = text(ask(parent, session, "And the ninth?", once="8"))
    assert "That makes more than 8 questions in a day" in ninth
    assert "And the ninth?" in ninth
    assert ask(parent, session, "Question 7?", once="7").status_code == 302  # it is asked already
    assert Question.objects.count() == 8
    assert ask(other, session).status_code == 302
    for _ in range(9):
        assert ask(coach, session).status_code == 302

    a_day_later = EVENING + dt.timedelta(days=1, minutes=1)
    monkeypatch.setattr("django.utils.timezone.now", lambda: a_day_later)
    assert ask(parent, session, "And the ninth?").status_code == 302


def test_a_question_of_a_phone_that_was_away_counts_as_well(cast, client_for, session):
    for _ in range(8):
        asked(session, cast.guardian)
    sent = {
        "id": "5e1f0000-0000-4000-8000-000000000009",
        "kind": "ask",
        "child": str(cast.child.public_id),
        "session": str(session.public_id),
        "fields": {"slot": "", "text": "And the ninth?"},
    }
    inbox = client_for(cast.guardian).post(
        reverse("program:inbox"), sent, content_type="application/json"
    )
    assert "more than 8 questions in a day" in inbox.json()["sentence"]
    assert Question.objects.count() == 8


def test_strangers_neither_ask_nor_read(cast, client_for, session):
    asked(session, cast.guardian)
    for person in (cast.other_coach, cast.other_guardian, cast.nobody):
        assert client_for(person).get(page(session)).status_code == 404
        assert ask(client_for(person), session).status_code == 404
        assert not Question.objects.visible_to(person).exists()
    assert Question.objects.count() == 1
    assert waiting(cast.other_coach) == []


def test_a_coach_asks_for_a_family_that_rang(cast, client_for, session):
    ask(client_for(cast.coach), session)
    assert Question.objects.get().asked_by == cast.coach


def test_what_was_asked_outlives_the_session_it_was_asked_on(cast, client_for, session):
    question = asked(session, cast.guardian)
    session.delete()
    question.refresh_from_db()
    assert question.about == "Backpack row"
    answer(client_for(cast.coach), waiting(cast.coach)[0], "Two books.")
    question.refresh_from_db()
    assert question.answer == "Two books."


def test_words_are_shown_as_words(cast, client_for, session):
    ask(client_for(cast.guardian), session, "<b>bold</b>")
    for client, address in (
        (client_for(cast.coach), reverse("program:review")),
        (client_for(cast.guardian), page(session)),
    ):
        body = client.get(address).content
        assert b"<b>bold" not in body
        html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(body)
