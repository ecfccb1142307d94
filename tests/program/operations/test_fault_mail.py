"""Whoever runs Fledge is mailed a fault, once an hour of each kind, and nothing about anybody."""

import logging
import sys

import pytest
from django.core.cache import cache
from django.core.mail.backends.locmem import EmailBackend
from django.db import OperationalError

from athletes.models import OutgoingMail
from program.operations import fault_mail
from program.operations.fault_mail import MailToOperator, tell
from program.operations.faults import Fault

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("operator")]


@pytest.fixture
def operator(settings, monkeypatch):
    settings.OPERATOR_MAIL = "operator@club.example"
    monkeypatch.setattr(fault_mail, "_own", fault_mail._InThisProcess())


def record(error: Exception, request: object = None) -> logging.LogRecord:
    try:
        raise error
    except type(error):
        made = logging.LogRecord(
            "django.request", logging.ERROR, "", 1, "Mira F.: /children/mira/", (), sys.exc_info()
        )
    made.request = request
    return made


def fault(kind="LookupError", place="athletes/views/people.py:93 accept") -> Fault:
    return Fault("482-719-350", "GET", "/invitation/<str:token>/", kind, (place,), place)


def test_a_fault_is_mailed_by_its_place_with_the_number_of_its_request(mailoutbox):
    tell(fault())
    (mail,) = mailoutbox
    assert mail.to == ["operator@club.example"]
    assert mail.subject == "Fledge: LookupError at athletes/views/people.py:93 accept"
    assert "482-719-350: GET /invitation/<str:token>/" in mail.body


def test_of_one_kind_one_mail_an_hour_goes_out_and_the_next_says_how_many_there_were(mailoutbox):
    for _ in range(4):
        tell(fault())
    tell(fault(place="athletes/views/people.py:70 stop"))
    tell(fault(kind="KeyError"))
    assert len(mailoutbox) == 3
    cache.delete(fault_mail._key(fault()))  # an hour later
    tell(fault())
    assert "since the last mail about it, not mailed: 3" in mailoutbox[-1].body


def test_without_the_database_each_process_counts_for_itself(mailoutbox, monkeypatch):
    def away(*args, **kwargs):
        raise OperationalError

    monkeypatch.setattr(cache, "add", away)
    for _ in range(4):
        tell(fault(place="the database"))
    assert len(mailoutbox) == 1


def test_while_the_mail_server_is_what_broke_the_worker_goes_on_trying(monkeypatch):
    def away(*_):
        raise ConnectionRefusedError

    monkeypatch.setattr(EmailBackend, "send_messages", away)
    tell(fault())
    (mail,) = OutgoingMail.objects.all()
    assert mail.to == "operator@club.example"
    assert mail.subject.startswith("Fledge: LookupError")


def test_neither_words_of_an_exception_nor_an_address_are_mailed(mailoutbox):
    told = Fault.of(record(LookupError("Mira F., born 2014")))
    tell(told)
    said = mailoutbox[0].subject + mailoutbox[0].body
    assert "Mira" not in said
    assert "mira" not in said
    assert "test_fault_mail.py:" in said


def test_a_fault_goes_out_beside_the_request_and_a_mail_server_that_fails_is_no_other(monkeypatch):
    tried = []

    def fails(told):
        tried.append(told.kind)
        raise OSError("no mail server")

    monkeypatch.setattr(fault_mail, "tell", fails)
    for _ in range(2):
        MailToOperator().emit(record(LookupError()))
        fault_mail._sender.wait()
    assert tried == ["LookupError", "LookupError"]


def test_nobody_is_mailed_where_nobody_is_named_or_where_nothing_broke(settings, monkeypatch):
    told = []
    monkeypatch.setattr(fault_mail, "tell", told.append)
    MailToOperator().emit(logging.LogRecord("django.request", 40, "", 1, "busy", (), None))
    settings.OPERATOR_MAIL = ""
    MailToOperator().emit(record(LookupError()))
    fault_mail._sender.wait()
    assert told == []
