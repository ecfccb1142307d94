"""A mail leaves once what it tells of is committed, whatever the mail server does meanwhile."""

import datetime as dt
import re
import smtplib

import pytest
from django.core.mail.backends.locmem import EmailBackend
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.mailing import (
    send_after_commit,
    send_code,
    send_mails,
    tell_of_late_codes,
    written_mail,
)
from athletes.models import OutgoingMail
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


def mails(*addresses: str) -> list[int]:
    send_after_commit([written_mail(to, "A subject", "A body") for to in addresses])
    return list(OutgoingMail.objects.order_by("pk").values_list("pk", flat=True))


def refuse(monkeypatch, *outcomes) -> list[str]:
    """A mail server that answers each mail in turn with an error, or takes it where it is None;
    whom it was asked for."""
    asked, answers = [], list(outcomes)

    def answer(self, messages):
        (message,) = messages
        asked.extend(message.to)
        outcome = answers.pop(0) if answers else None
        if outcome:
            raise outcome
        return original(self, messages)

    original = EmailBackend.send_messages
    monkeypatch.setattr(EmailBackend, "send_messages", answer)
    return asked


def test_a_mail_that_has_left_leaves_nothing_behind(mailoutbox):
    keys = mails("a@example.org")
    work_off()
    assert [mail.to for mail in mailoutbox] == [["a@example.org"]]
    assert not OutgoingMail.objects.exists()
    send_mails(keys)  # as after a worker died before it could say that it was done
    assert len(mailoutbox) == 1


def test_where_the_server_goes_away_in_the_middle_the_rest_is_sent_later(mailoutbox, monkeypatch):
    keys = mails("a@example.org", "b@example.org", "c@example.org")
    with monkeypatch.context() as away:
        refuse(away, None, smtplib.SMTPServerDisconnected())
        with pytest.raises(smtplib.SMTPServerDisconnected):
            send_mails(keys)
    send_mails(keys)
    assert [mail.to[0][0] for mail in mailoutbox] == ["a", "b", "c"]


def test_one_mail_refused_for_now_keeps_no_other_from_leaving(mailoutbox, monkeypatch):
    keys = mails("a@example.org", "b@example.org")
    asked = refuse(monkeypatch, smtplib.SMTPDataError(451, b"try later"))
    with pytest.raises(smtplib.SMTPDataError):
        send_mails(keys)
    send_mails(keys)
    assert [address[0] for address in asked] == ["a", "b", "a"]
    assert [mail.to[0][0] for mail in mailoutbox] == ["b", "a"]


@pytest.mark.parametrize(
    "refusal",
    [
        smtplib.SMTPRecipientsRefused({"a@example.org": (550, b"unknown")}),
        smtplib.SMTPDataError(554, b"no"),
        ValueError("Invalid address"),
    ],
    ids=lambda each: type(each).__name__,
)
def test_an_answer_that_is_final_is_not_asked_for_again_nor_repeated_in_the_log(
    refusal, monkeypatch, caplog
):
    asked = refuse(monkeypatch, refusal)
    send_mails(mails("a@example.org"))
    assert len(asked) == 1
    assert not OutgoingMail.objects.exists()
    assert "A mail was given up" in caplog.text
    assert "@" not in caplog.text


def test_a_mail_is_the_same_to_mail_programs_however_often_it_is_sent(mailoutbox):
    (key,) = mails("a@example.org")
    mail = OutgoingMail.objects.get(pk=key)
    first, second = (mail.as_message().message()["Message-ID"] for _ in range(2))
    assert first == second != ""


def test_after_three_days_without_a_mail_server_it_is_given_up(mailoutbox, monkeypatch):
    keys = mails("a@example.org")
    three_days = timezone.now() + dt.timedelta(days=3, seconds=1)
    monkeypatch.setattr("django.utils.timezone.now", lambda: three_days)
    send_mails(keys)
    assert not mailoutbox
    assert not OutgoingMail.objects.exists()


# Sign-in codes


def ask_for_a_code(client, address):
    return client.post(reverse("account_login"), {"email": address})


@pytest.fixture
def no_mail_server(monkeypatch):
    def away(*_):
        raise ConnectionRefusedError

    monkeypatch.setattr(EmailBackend, "send_messages", away)


def test_a_member_gets_a_code_and_a_stranger_gets_none(cast, client, mailoutbox):
    for address in (cast.coach.email, "stranger@example.org"):
        assert ask_for_a_code(client, address).status_code == 302
    work_off()
    assert [mail.to for mail in mailoutbox] == [[cast.coach.email]]
    assert not OutgoingMail.objects.exists()


def written_by(address: str) -> list[str]:
    """Where asking for a code for this address writes to, in order."""
    with CaptureQueriesContext(connection) as asked:
        assert ask_for_a_code(Client(), address).status_code == 302
    tables = r'(?:INSERT INTO|UPDATE) "(\w+)"|(procrastinate_defer_jobs)'
    return [
        match[0] for query in asked.captured_queries if (match := re.search(tables, query["sql"]))
    ]


def test_a_member_and_a_stranger_are_answered_by_the_same_work(cast, no_mail_server):
    """A stranger could otherwise tell from how long it takes who is a member."""
    member, stranger = written_by(cast.coach.email), written_by("stranger@example.org")
    assert 'INSERT INTO "athletes_outgoingmail"' in member
    assert "procrastinate_defer_jobs" in member
    assert [each.replace("UPDATE", "INSERT INTO") for each in stranger] == [
        each.replace("UPDATE", "INSERT INTO") for each in member
    ]


def test_a_code_waits_for_the_mail_server_as_long_as_it_holds_and_no_longer(
    cast, client, mailoutbox, monkeypatch
):
    ask_for_a_code(client, cast.coach.email)
    (mail,) = OutgoingMail.objects.all()
    assert mail.give_up_at - mail.written_at == dt.timedelta(minutes=3)
    assert ProcrastinateJob.objects.get().priority > 0


def test_an_operator_is_told_of_a_code_that_has_not_left_within_a_minute(monkeypatch, caplog):
    send_code("a@example.org", "Your code", "ABC")
    send_code("", "Your code", "nobody waits for this one")
    tell_of_late_codes(0)
    assert not caplog.text
    later = timezone.now() + dt.timedelta(seconds=61)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    tell_of_late_codes(0)
    assert "A sign-in code waits for the mail server" in caplog.text
    assert "@" not in caplog.text
