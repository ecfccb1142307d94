"""What comes with a question, and what can follow from its one answer."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from athletes.changes import answer_kit
from library.models import Exercise, ExerciseNote, Item
from program.ask.privacy_check import names_in, quotes
from program.models import AssignedSession, Override, Question, Resolution, Session
from program.publish.publishing import publish
from tests.library.shared.test_uploads import own_folder  # noqa: F401 -- a fixture
from tests.support.deciding import set_override
from tests.support.factories import (
    BlockFactory,
    ExerciseFactory,
    ItemFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.family import EVENING, WEDNESDAY, text
from tests.support.pictures import clip, photo
from tests.support.planning import MOST_QUERIES, WRITES_WHO_LOOKED, queries_of
from tests.support.queue import waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening", "nothing_to_agree_to")]


@pytest.fixture
def slides(cast):
    """Heel walk-out, then heel slide, then one-leg slide, all of which the child may do."""
    tiles = ItemFactory(slug="smooth-floor")
    answer_kit(cast.child, Item.objects.filter(pk=tiles.pk), cast.guardian)
    chain = [
        ExerciseFactory(slug=slug, revision__name=slug.replace("-", " ").capitalize())
        for slug in ("heel-walk-out", "heel-slide", "one-leg-slide")
    ]
    return PathwayFactory(slug="slides", chain=chain)


def written(cast, days: int, published: bool = True) -> Session:
    session = SessionFactory(
        block=BlockFactory(cohort=cast.cohort), date=WEDNESDAY + dt.timedelta(days=days)
    )
    slide = Exercise.objects.get(slug="heel-slide")
    SlotFactory(part=PartFactory(session=session), exercise=slide)
    if published:
        publish(session, cast.coach, timezone.now())
    return session


@pytest.fixture
def sessions(cast, slides):
    """A heel slide yesterday, today, in two days, and one not published yet."""
    return [written(cast, -1), written(cast, 0), written(cast, 2), written(cast, 4, False)]


def of_child(session, child) -> AssignedSession:
    return AssignedSession.objects.get(session=session, child=child)


def gets(session, child) -> str:
    return of_child(session, child).slots.get().revision.exercise.slug


@pytest.fixture
def asked(cast, sessions) -> Question:
    return Question.objects.create(
        child=cast.child,
        assigned_session=of_child(sessions[0], cast.child),
        exercise=Exercise.objects.get(slug="heel-slide"),
        text="On our stone floor the towel does not slide at all, what now?",
        asked_at=EVENING - dt.timedelta(hours=1),
        asked_by=cast.guardian,
    )


def page(question) -> str:
    return reverse("program:question", args=[question.public_id])


def answer(client, question, words="Two socks over each other.", **more):
    return client.post(page(question), {"words": words} | more)


def take_back(client):
    return client.post(reverse("program:answer_back", args=[Resolution.objects.get().pk]))


# A photo or a clip


def ask(client, session, *files, words="Is this low enough?", **more):
    address = reverse("program:ask", args=[session.child.public_id, session.public_id])
    return client.post(address, {"slot": "", "text": words, "upload": list(files)} | more)


@pytest.fixture
def session(cast, sessions):
    return of_child(sessions[1], cast.child)


def a_photo(name="a.jpg", content=b""):
    return SimpleUploadedFile(name, content or photo(), "image/jpeg")


def test_a_photo_is_seen_by_those_who_may_see_the_child_and_nobody_else(
    cast, client_for, session, own_folder  # noqa: F811
):  # fmt: skip
    ask(client_for(cast.guardian), session, a_photo())
    question = Question.objects.get()
    where = reverse("program:question_upload", args=[question.public_id])
    for person in (cast.guardian, cast.athlete, cast.coach, cast.head_coach):
        answer = client_for(person).get(where)
        assert b"".join(answer).startswith(b"\xff\xd8\xff")
        assert answer.headers["Cache-Control"] == "private, no-store"
    for person in (cast.other_coach, cast.other_guardian, cast.nobody):
        assert client_for(person).get(where).status_code == 404
    pages = [
        (cast.coach, reverse("program:review")),
        (cast.coach, reverse("program:child_review", args=[cast.child.public_id])),
        (cast.coach, page(question)),
        (cast.guardian, reverse("program:ask", args=[cast.child.public_id, session.public_id])),
    ]
    for person, address in pages:
        assert where in client_for(person).get(address).content.decode()
    question.delete()
    assert client_for(cast.guardian).get(where).status_code == 404


def test_the_file_goes_with_its_question(
    cast, client_for, session, own_folder, django_capture_on_commit_callbacks  # noqa: F811
):  # fmt: skip
    ask(client_for(cast.guardian), session, a_photo())
    assert len(list(own_folder.iterdir())) == 1
    with django_capture_on_commit_callbacks(execute=True):
        Question.objects.get().delete()
    assert list(own_folder.iterdir()) == []


def test_a_clip_is_shown_with_its_controls_and_does_not_start_by_itself(cast, client_for, session):
    sent = SimpleUploadedFile("a.mp4", clip(seconds=0.5), "video/mp4")
    ask(client_for(cast.guardian), session, sent)
    body = client_for(cast.coach).get(reverse("program:review")).content.decode()
    assert "<video" in body
    assert "controls" in body
    assert "autoplay" not in body


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ([("a.jpg", b"")], "This file is empty."),
        ([("a.jpg", clip(seconds=0.5))], "This calls itself a picture but is a clip."),
        ([("a.jpg", photo()[:-400])], "damaged or broken off"),
        ([(f"{n}.jpg", photo()) for n in range(300)], "One file at a time, please: these were 300"),
    ],
    ids=["empty", "a clip", "broken off", "a burst"],
)
def test_a_file_that_is_not_taken_is_said_at_its_field_and_nothing_is_kept(
    cast, client_for, session, own_folder, files, said  # noqa: F811
):  # fmt: skip
    sent = [SimpleUploadedFile(name, content, "image/jpeg") for name, content in files]
    shown = text(ask(client_for(cast.guardian), session, *sent))
    assert said in shown
    assert "Is this low enough?" in shown
    assert not Question.objects.exists()
    assert not own_folder.exists()


def test_a_photo_beside_another_mistake_has_to_be_chosen_again_and_says_so(
    cast, client_for, session, own_folder  # noqa: F811
):  # fmt: skip
    shown = text(ask(client_for(cast.guardian), session, a_photo(), words=""))
    assert "Choose the photo or clip once more" in shown
    assert not own_folder.exists()


def test_pressed_twice_one_question_and_one_photo_are_kept(
    cast, client_for, session, own_folder  # noqa: F811
):  # fmt: skip
    for _ in range(2):
        ask(client_for(cast.guardian), session, a_photo(), once="a-key")
    assert Question.objects.count() == len(list(own_folder.iterdir())) == 1


def test_more_than_ten_uploads_in_a_day_are_refused_unread_whatever_they_were_and_words_still_go(
    cast, client_for, session, asked, own_folder, monkeypatch  # noqa: F811
):  # fmt: skip
    parent = client_for(cast.guardian)
    for number in range(10):
        rubbish = SimpleUploadedFile(f"{number}.jpg", b"no photo at all", "image/jpeg")
        assert "Choose a photo" in text(ask(parent, session, rubbish))
    monkeypatch.setattr("library.shared.uploads.fields.read_upload", None)
    assert "more than 10 photos and clips in a day" in text(ask(parent, session, a_photo()))
    assert not own_folder.exists()
    assert ask(parent, session).status_code == 302


# The swap


def test_a_questions_page_asks_the_database_little(cast, client_for, asked):
    coach = client_for(cast.coach)
    coach.get(page(asked))  # the library's snapshot is read once and kept
    assert queries_of(coach, page(asked)) <= MOST_QUERIES + WRITES_WHO_LOOKED


def test_the_answer_swaps_the_exercise_in_what_is_not_started_and_taking_back_undoes_it(
    cast, client_for, sessions, asked
):
    yesterday, today, later, draft = sessions
    AssignedSession.objects.filter(session=today).update(started_at=EVENING)
    coach = client_for(cast.coach)
    assert "Heel walk out" in text(coach.get(page(asked)))
    answer(coach, asked, swap="heel-walk-out")
    assert gets(later, cast.child) == "heel-walk-out"
    assert [gets(each, cast.child) for each in (yesterday, today)] == ["heel-slide"] * 2
    publish(draft, cast.coach, EVENING)
    assert gets(draft, cast.child) == "heel-walk-out"
    assert {each.set_by for each in Override.objects.all()} == {cast.coach}
    take_back(coach)
    assert not Override.objects.exists()
    assert gets(later, cast.child) == "heel-slide"
    asked.refresh_from_db()
    assert (asked.answer, asked.answered_at) == ("", None)
    assert [each.kind for each in waiting(cast.coach)] == ["question"]


def test_a_swap_to_a_landing_for_a_child_not_placed_on_landing_asks_why_and_keeps_it(
    cast, client_for, sessions, asked
):
    hop = ExerciseFactory(
        slug="hop", revision__name="Hop", revision__pattern="land", revision__contacts=1
    )
    coach = client_for(cast.coach)
    refused = answer(coach, asked, words="Hop instead.", swap="hop")
    said = "1 child meets Hop before anybody placed them on landing."
    assert refused.status_code == 422
    html = refused.content.decode()
    assert said in html
    assert "Hop instead." in html
    assert not Override.objects.exists()
    asked.refresh_from_db()
    assert not asked.answered_at
    because = "She lands well; I watched."
    answer(coach, asked, words="Hop instead.", swap="hop", because=because)
    kept = [(each.exercise, each.in_spite_of, each.because) for each in Override.objects.all()]
    assert kept == [(hop, [said], because)] * 3


def test_taking_back_brings_an_earlier_choice_back_and_stops_before_a_later_one(
    cast, client_for, sessions, asked
):
    slot = sessions[2].parts.get().slots.get()
    one_leg, walk_out = (
        Exercise.objects.get(slug=each) for each in ("one-leg-slide", "heel-walk-out")
    )
    # Said before by hand: this child gets the heel slide there, with a word to the family.
    set_override(slot, cast.child, asked.exercise, "As always.", cast.head_coach, EVENING)
    coach = client_for(cast.coach)
    answer(coach, asked, swap="heel-walk-out")
    set_override(slot, cast.child, one_leg, "", cast.head_coach, EVENING)
    take_back(coach)
    asked.refresh_from_db()
    assert asked.answer == "Two socks over each other."
    assert Override.objects.get(slot=slot).exercise == one_leg
    set_override(slot, cast.child, walk_out, "", cast.head_coach, EVENING)
    take_back(coach)
    asked.refresh_from_db()
    assert asked.answer == ""
    override = Override.objects.get(slot=slot)
    assert (override.exercise, override.note, override.set_by) == (
        asked.exercise, "As always.", cast.head_coach,
    )  # fmt: skip


def test_what_the_child_may_not_do_now_is_not_offered_and_not_taken(
    cast, client_for, sessions, asked
):
    cast.child.restrictions.create(
        region="thigh", kind="nothing", start=WEDNESDAY, until=WEDNESDAY + dt.timedelta(days=9)
    )
    loading = ExerciseFactory(slug="deep", revision__name="Deep", revision__loads=["thigh"])
    shown = text(answer(client_for(cast.coach), asked, swap=loading.slug))
    assert "That one is not allowed for this child now." in shown
    asked.refresh_from_db()
    assert asked.answered_at is None


# The note


def test_the_answer_is_kept_as_a_note_for_everybody_on_the_exercise_until_it_is_removed(
    cast, client_for, sessions, asked
):
    coach = client_for(cast.coach)
    answer(coach, asked, keep="on")
    note = ExerciseNote.objects.get()
    assert (note.text, note.kept_by_name, note.kept_at) == (
        "Two socks over each other.", "Owning Coach", EVENING,
    )  # fmt: skip
    in_library = reverse("library:exercise", args=["heel-slide"])
    told = of_child(sessions[2], cast.child)
    read, follow = (
        reverse(f"program:{name}", args=[cast.child.public_id, told.public_id])
        for name in ("read", "follow")
    )
    for person, address in (
        (cast.other_coach, in_library),
        (cast.guardian, read),
        (cast.guardian, follow),
    ):
        body = client_for(person).get(address).content.decode()
        assert "Two socks over each other." in body
        assert "stone floor" not in body
    coach.post(reverse("library:remove_note", args=["heel-slide", note.pk]))
    note.refresh_from_db()
    assert (note.removed_by_name, note.removed_at) == ("Owning Coach", EVENING)
    for person, address in ((cast.coach, in_library), (cast.guardian, read)):
        assert "Two socks" not in client_for(person).get(address).content.decode()


def test_a_note_is_taken_back_with_its_answer(cast, client_for, asked):
    coach = client_for(cast.coach)
    answer(coach, asked, keep="on")
    take_back(coach)
    assert not ExerciseNote.objects.standing().exists()


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("mira can wear two socks.", "this names Mira"),
        ("Own Parent could wet the towel.", "this names Own Parent"),
        ("When the towel does not slide at all, wear socks.", "does not repeat what a family"),
    ],
)
def test_a_note_for_everybody_names_nobody_and_repeats_no_family(
    cast, client_for, asked, words, why
):
    coach = client_for(cast.coach)
    shown = text(answer(coach, asked, words, keep="on"))
    assert why in shown
    assert words in shown
    assert not ExerciseNote.objects.exists()
    assert answer(coach, asked, words).status_code == 302  # said to this family alone it may


def test_names_are_whole_words_and_quotes_are_six_words_in_a_row():
    assert names_in("Ask Anna-Lena, or ANNA LENA", ["Anna-Lena", "Ann"]) == ["Anna-Lena"]
    assert names_in("An answer", ["Ann", ""]) == []
    assert quotes("say: one two three four five six", "zero one two three four five six seven")
    assert not quotes("one two three four five", "zero one two three four five six")
    assert quotes("so, how deep exactly?", "How deep exactly?")
    assert not quotes("how deep", "How deep")


# From the queue, at once, and after a child has left


def from_the_queue(client, question, htmx=True, **sent):
    about = {"child": question.child.public_id, "key": question.key, "action": "answer"}
    headers = {"HX-Request": "true"} if htmx else {}
    return client.post(reverse("program:answer"), about | {"scope": ""} | sent, headers=headers)


def test_the_queue_keeps_a_note_too_and_hands_words_back_that_cannot_be_kept(
    cast, client_for, asked
):
    coach = client_for(cast.coach)
    back = from_the_queue(coach, asked, words="Mira wears socks.", keep="on").content.decode()
    assert ">Mira wears socks.</textarea>" in back
    assert "this names Mira" in back
    from_the_queue(coach, asked, words="Wear socks.", keep="on")
    assert ExerciseNote.objects.get().text == "Wear socks."


def test_of_two_answers_the_first_stands_and_the_second_is_handed_back(cast, client_for, asked):
    answer(client_for(cast.coach), asked, "First.")
    late = client_for(cast.head_coach)
    assert "Yours was not sent: “Second.”" in text(from_the_queue(late, asked, words="Second."))
    shown = text(answer(late, asked, "Second."))
    assert "Somebody answered first, so yours was not sent. You wrote: “Second.”" in shown
    asked.refresh_from_db()
    assert (asked.answer, Resolution.objects.count()) == ("First.", 1)


def test_a_child_that_has_left_is_answered_by_a_head_coach_who_is_told(cast, client_for, asked):
    cast.child.enrolments.update(end=WEDNESDAY - dt.timedelta(days=1))
    assert client_for(cast.coach).get(page(asked)).status_code == 404
    coach = client_for(cast.head_coach)
    shown = text(coach.get(page(asked)))
    assert "Mira trains in no cohort now. The guardians still have their page" in shown
    assert "nothing to swap" in shown
    from_the_queue(coach, asked, words="Two socks.")
    asked.refresh_from_db()
    assert asked.answer == "Two socks."
    address = reverse("program:ask", args=[cast.child.public_id, asked.assigned_session.public_id])
    assert "Two socks." in text(client_for(cast.guardian).get(address))
