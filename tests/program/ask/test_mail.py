"""Who is mailed about a question and its answer, what such a mail holds, and how it stops."""

import datetime as dt
import re
import smtplib

import pytest
from django.core import signing
from django.core.mail.backends.locmem import EmailBackend
from django.test import Client
from django.urls import reverse

from athletes.mailing import person_of, stop_token
from athletes.models import OutgoingMail
from program.models import AssignedSession, Question
from tests.support.family import EVENING, WEDNESDAY, assign, give

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]

QUESTION = "Her backpack is empty. What can she row?"
ANSWER = "A bag with two books."


@pytest.fixture
def session(cast):
    session = assign(cast.child)
    give(session, "Backpack row")
    return AssignedSession.objects.get(pk=session.pk)


@pytest.fixture
def committed(django_capture_on_commit_callbacks):
    """Do something, and what follows its commit."""

    def do(act, *args, **more):
        with django_capture_on_commit_callbacks(execute=True):
            return act(*args, **more)

    return do


def ask(client, session):
    address = reverse("program:ask", args=[session.child.public_id, session.public_id])
    return client.post(address, {"slot": "", "text": QUESTION, "once": "a-key"})


def asked(session, by) -> Question:
    return Question.objects.create(
        child=session.child, assigned_session=session, text=QUESTION, asked_at=EVENING, asked_by=by
    )


def answer(client, question):
    return client.post(reverse("program:question", args=[question.public_id]), {"words": ANSWER})


def to(mailoutbox) -> list[str]:
    return sorted(address for mail in mailoutbox for address in mail.to)


def test_the_coaches_of_the_cohort_are_told_once_that_a_family_asks(
    cast, client_for, session, mailoutbox, committed
):
    second = type(cast.coach).objects.create_user("second@example.org", name="S", role="coach")
    cast.cohort.coaches.add(second)
    for _ in range(2):
        committed(ask, client_for(cast.guardian), session)
    assert to(mailoutbox) == ["owning.coach@example.org", "second@example.org"]


def test_a_question_from_a_phone_is_told_once_however_often_it_is_sent(
    cast, client_for, session, mailoutbox, committed
):
    sent = {
        "id": "7d1f9a54-7f4a-4c55-8f7c-0d5a4f6b9e10",
        "kind": "ask",
        "child": str(session.child.public_id),
        "session": str(session.public_id),
        "fields": {"text": QUESTION},
    }
    phone = client_for(cast.guardian)
    for later in range(2):
        with pytest.MonkeyPatch.context() as patch:
            moment = EVENING + dt.timedelta(minutes=later)
            patch.setattr("django.utils.timezone.now", lambda moment=moment: moment)
            committed(phone.post, reverse("program:inbox"), sent, "application/json")
    assert to(mailoutbox) == ["owning.coach@example.org"]


def test_where_no_cohort_has_a_coach_the_head_coach_is_told(
    cast, client_for, session, mailoutbox, committed
):
    cast.cohort.coaches.clear()
    committed(ask, client_for(cast.guardian), session)
    assert to(mailoutbox) == ["head.coach@example.org"]


def test_every_guardian_is_told_of_the_answer_even_after_the_child_has_left(
    cast, client_for, session, mailoutbox, committed
):
    cast.child.guardianships.create(guardian=cast.nobody)
    cast.child.enrolments.update(end=WEDNESDAY - dt.timedelta(days=1))
    committed(answer, client_for(cast.head_coach), asked(session, cast.guardian))
    assert to(mailoutbox) == ["nobody.here@example.org", "own.parent@example.org"]


def test_a_mail_holds_a_given_name_and_a_link_that_leads_there_and_nothing_else(
    cast, client_for, session, mailoutbox, committed
):
    committed(ask, client_for(cast.guardian), session)
    committed(answer, client_for(cast.coach), Question.objects.get())
    readers = (cast.coach, cast.guardian)
    for mail, reader in zip(mailoutbox, readers, strict=True):
        assert "Mira" not in mail.subject
        for secret in ("backpack", "row", "books", "Mira T", "Strong steps"):
            assert secret not in mail.subject + mail.body
        link = re.search(r"http://testserver(/(?!mail)\S+)", mail.body)[1]
        page = client_for(reader).get(link)
        assert QUESTION in page.content.decode()


def test_nobody_is_told_of_what_they_wrote_themselves(
    cast, client_for, session, mailoutbox, committed
):
    committed(ask, client_for(cast.coach), session)
    assert to(mailoutbox) == []


def test_a_mail_server_that_is_away_fails_no_request_and_leaves_no_address_in_the_log(
    cast, client_for, session, mailoutbox, committed, monkeypatch, caplog
):
    def away(*_):
        raise smtplib.SMTPServerDisconnected("own.parent@example.org")

    monkeypatch.setattr(EmailBackend, "send_messages", away)
    assert committed(ask, client_for(cast.guardian), session).status_code == 302
    assert Question.objects.exists()
    (mail,) = OutgoingMail.objects.all()
    assert mail.to == "owning.coach@example.org"  # for another try
    assert "@" not in caplog.text


def test_what_is_not_committed_is_not_told(cast, client_for, session, mailoutbox):
    ask(client_for(cast.guardian), session)
    assert not mailoutbox


# Stopping them


def test_the_one_click_of_a_mail_program_stops_them_without_signing_in(
    cast, client_for, client, session, mailoutbox, committed
):
    committed(ask, client_for(cast.guardian), session)
    headers = mailoutbox[0].extra_headers
    assert headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    address = re.fullmatch(r"<http://testserver(\S+)>", headers["List-Unsubscribe"])[1]
    assert address in mailoutbox[0].body
    # Only looking, as link scanners do, stops nothing.
    assert client.get(address).status_code == 200
    cast.coach.refresh_from_db()
    assert cast.coach.wants_mail
    strict = Client(enforce_csrf_checks=True)
    done = strict.post(address, {"List-Unsubscribe": "One-Click"})
    assert (done.status_code, done.cookies.get("sessionid")) == (200, None)
    cast.coach.refresh_from_db()
    assert not cast.coach.wants_mail
    Question.objects.all().delete()
    mailoutbox.clear()
    committed(ask, client_for(cast.athlete), session)
    assert to(mailoutbox) == []


@pytest.mark.parametrize("change", ["x", ""])
def test_a_token_that_was_tampered_with_stops_nobody(cast, client, change):
    token = stop_token(cast.coach)
    forged = (token[:-1] + ("A" if token[-1] != "A" else "B")) if not change else f"{change}{token}"
    assert person_of(forged) is None
    assert client.post(reverse("athletes:stop_mail", args=[forged])).status_code == 404
    assert person_of(token) == cast.coach
    assert person_of(signing.dumps(cast.coach.pk, salt="something else")) is None


def test_a_person_stops_and_wants_them_again_on_a_page_of_their_own(cast, client_for):
    parent = client_for(cast.guardian)
    address = reverse("athletes:mail_setting")
    for sent, wants in (({}, False), ({"wants_mail": "on"}, True)):
        parent.post(address, sent)
        cast.guardian.refresh_from_db()
        assert cast.guardian.wants_mail == wants
    assert "own.parent@example.org" in parent.get(address).content.decode()


def test_a_port_that_a_visitor_names_is_in_no_mail(
    cast, client_for, session, mailoutbox, committed, settings
):
    settings.ON_THIS_MACHINE_ONLY, settings.ALLOWED_HOSTS = False, ["fledge.example"]
    parent = client_for(cast.guardian)
    parent.defaults["HTTP_HOST"] = "fledge.example:6666"
    committed(ask, parent, session)
    (mail,) = mailoutbox
    assert set(re.findall(r"https?://[^/]+/", mail.body)) == {"http://fledge.example/"}
    assert "6666" not in str(mail.message())
