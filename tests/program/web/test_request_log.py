"""One line in the log for each request, which tells of nobody."""

import json
import logging

import pytest
from django.test import Client
from django.urls import reverse

pytestmark = pytest.mark.django_db

KEYS = {"time", "request", "method", "route", "status", "ms", "bytes"}


@pytest.fixture
def lines(caplog, monkeypatch):
    """What is logged of requests from now on, read."""
    logger = logging.getLogger("fledge.requests")
    monkeypatch.setattr(logger, "propagate", True)
    caplog.set_level(logging.INFO, logger="fledge.requests")

    def read() -> list[dict]:
        return [json.loads(r.message) for r in caplog.records if r.name == "fledge.requests"]

    return read


def test_each_request_is_one_line_with_the_pattern_of_its_address(cast, coach, lines):
    child = cast.child
    answer = coach.get(reverse("athletes:child", args=[child.public_id]), {"q": "Mira"})
    (line,) = lines()
    assert line.keys() == KEYS
    assert (line["method"], line["route"]) == ("GET", "/children/<uuid:public_id>/")
    assert (line["status"], line["bytes"]) == (200, len(answer.content))
    assert line["ms"] > 0
    assert line["request"] == answer.headers["X-Request-ID"]
    said = json.dumps(line)
    for told in ("Mira", str(child.public_id), cast.coach.email, "127.0.0.1"):
        assert told not in said


def test_what_leads_nowhere_and_what_is_a_file_keep_their_paths_to_themselves(client, lines):
    client.get("/children/Mira/")
    client.get("/static/css/base.css").close()
    client.get("/static/Mira.css")
    client.generic("MIRA", "/sign-in/")
    assert [line["route"] for line in lines()][:3] == ["no such address", "/static/", "/static/"]
    assert "MIRA" not in json.dumps(lines()).upper()


def test_no_two_requests_have_one_number(lines):
    for _ in range(3):
        Client().get("/sign-in/")
    assert len({line["request"] for line in lines()}) == 3


def test_a_fault_is_one_line_of_them_too(cast, client_for, lines, monkeypatch):
    def broken(*_):
        raise LookupError("Mira F., born 2014")

    monkeypatch.setattr("program.week.views.week_of", broken)
    coach = client_for(cast.coach)
    coach.raise_request_exception = False
    answer = coach.get(reverse("program:week"))
    (line,) = lines()
    assert line["status"] == 500
    assert f'give this number: <b class="num">{line["request"]}</b>' in answer.content.decode()
