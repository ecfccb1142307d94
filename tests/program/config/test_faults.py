"""A fault leaves its place in the server's log, and nothing about a child."""

import io
import json
import logging

import pytest
from django.test import Client
from django.urls import reverse

from athletes.models import Invitation
from program.config.faults import WhereOnly

pytestmark = pytest.mark.django_db


@pytest.fixture
def log():
    (handler,) = (
        each
        for each in logging.getLogger("django.request").handlers
        if isinstance(each.formatter, WhereOnly)
    )
    before = handler.setStream(io.StringIO())
    yield handler.stream
    handler.setStream(before)


def test_a_fault_is_logged_by_its_route_and_lines_without_what_it_was_about(cast, log, monkeypatch):
    def broken(*_):
        raise LookupError("Mira F., born 2014")

    token = Invitation.objects.invite("a@example.org", "guardian", cast.coach, cast.child)[1]
    monkeypatch.setattr("athletes.models.InvitationQuerySet.with_token", broken)
    answer = Client(raise_request_exception=False).get(reverse("athletes:accept", args=[token]))
    assert answer.status_code == 500
    (said,) = log.getvalue().splitlines()
    fault = json.loads(said)
    assert (fault["method"], fault["route"]) == ("GET", "/invitation/<str:token>/")
    assert fault["fault"] == "LookupError"
    assert any("athletes/views/accepting.py:" in line for line in fault["at"])
    assert "test_faults.py:" in fault["at"][-1]
    assert fault["request"] in answer.content.decode()
    assert token not in said
    assert "Mira" not in said


def test_what_is_only_not_there_is_no_fault(client, log):
    client.get("/nothing/here/")
    assert log.getvalue() == ""
