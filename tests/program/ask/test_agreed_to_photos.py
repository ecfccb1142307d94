"""Photos and clips with a question, where the family agrees to them, and what becomes of them when
it does so no longer."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from athletes.models import ConsentPurpose
from library.shared.uploads.keeping import uploads
from program.models import Question
from program.privacy.child_data import data_of
from program.privacy.retention import let_go, over
from tests.support.consents import said
from tests.support.factories import UserFactory
from tests.support.family import EVENING, assign, give, text
from tests.support.pictures import photo
from tests.support.queue import waiting
from tests.support.work import work_off

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

PHOTOS = [ConsentPurpose.PHOTOS]


@pytest.fixture
def session(cast):
    session = assign(cast.child)
    give(session, "Backpack row")
    return session


def page(session) -> str:
    return reverse("program:ask", args=[session.child.public_id, session.public_id])


def ask(client, session):
    file = SimpleUploadedFile("photo.jpg", photo(), "image/jpeg")
    return client.post(page(session), {"slot": "", "text": "Like this?", "upload": file})


@pytest.fixture
def sent(cast, session, client_for):
    assert ask(client_for(cast.guardian), session).status_code == 302
    return Question.objects.get()


def at(question) -> str:
    return reverse("program:question_upload", args=[question.public_id])


def test_without_a_yes_the_field_is_absent_and_a_file_is_refused_in_words(
    cast, session, client_for
):
    said(cast.child, cast.guardian, PHOTOS, given=False)
    there = uploads().listdir("")[1]
    for person in (cast.guardian, cast.coach, cast.athlete):
        client = client_for(person)
        read = client.get(page(session))
        assert 'type="file"' not in read.content.decode()
        assert "photo or clip can come with it once the family agrees" in text(read)
        refused = text(ask(client, session))
        assert "Photos and clips are not agreed to" in refused
        assert "Like this?" in refused
    assert not Question.objects.exists()
    assert uploads().listdir("")[1] == there
    words = client_for(cast.guardian).post(page(session), {"slot": "", "text": "Like this?"})
    assert words.status_code == 302


def test_a_no_hides_what_was_sent_from_every_coach_at_once_and_not_from_the_family(
    cast, session, sent, client_for
):
    coach, parent = client_for(cast.coach), client_for(cast.guardian)
    pages = [
        page(session),
        reverse("program:question", args=[sent.public_id]),
        reverse("program:child_review", args=[cast.child.public_id]),
        reverse("program:review"),
    ]
    assert all(at(sent) in coach.get(each).content.decode() for each in pages)
    assert coach.get(at(sent)).status_code == 200
    said(cast.child, cast.guardian, PHOTOS, given=False)
    for person in (cast.coach, cast.head_coach):
        client = client_for(person)
        assert [at(sent) in client.get(each).content.decode() for each in pages] == [False] * 4
        assert client.get(at(sent)).status_code == 404
    assert parent.get(at(sent)).status_code == 200
    read = text(parent.get(page(session)))
    assert "The coaches do not see it" in read
    (finding,) = waiting(cast.coach, "question")
    assert finding.asked.upload == ""


def test_one_of_two_guardians_is_enough_to_hide_it(cast, sent, client_for):
    second = UserFactory(name="Second")
    cast.child.guardianships.create(guardian=second)
    assert client_for(cast.coach).get(at(sent)).status_code == 200
    said(cast.child, second, PHOTOS, given=False)
    assert client_for(cast.coach).get(at(sent)).status_code == 404


def test_two_weeks_after_a_no_it_is_deleted_and_its_question_stays(cast, sent, client_for):
    said(cast.child, cast.guardian, PHOTOS, given=False, at=EVENING)
    agreed = reverse("athletes:consents", args=[cast.child.public_id])
    told = text(client_for(cast.guardian).get(agreed))
    assert "What is here from before is deleted on 18 November 2026" in told
    in_two_weeks = EVENING + dt.timedelta(days=14)
    let_go(in_two_weeks)
    assert uploads().exists(sent.upload)
    due = {each.what: each.rows.count() for each in over(in_two_weeks + dt.timedelta(seconds=1))}
    assert due["photos and clips that the family said no to"] == 1
    let_go(in_two_weeks + dt.timedelta(seconds=1))
    work_off()
    assert not uploads().exists(sent.upload)
    assert Question.objects.get().upload == ""


def test_a_copy_that_a_coach_asks_for_leaves_out_what_coaches_do_not_see(cast, sent):
    assert data_of(cast.child, cast.head_coach).uploads == [sent.upload]
    said(cast.child, cast.guardian, PHOTOS, given=False)
    assert data_of(cast.child, cast.head_coach).uploads == []
    assert data_of(cast.child, cast.guardian).uploads == [sent.upload]
