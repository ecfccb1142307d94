"""What whoever watches over the server is told: whether it lives, and whether it is ready."""

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from program.operations import checks
from program.operations.checks.result import Check, well, wrong
from tests.support.beats import a_worker_beats

LIVE, READY = "/health/live", "/health/ready"


@pytest.fixture
def club(settings):
    """A club's settings: https alone, and one name."""
    settings.SECURE_SSL_REDIRECT = True
    settings.ALLOWED_HOSTS = ["fledge.club.example"]


@pytest.fixture
def a_worker(db):
    a_worker_beats()


@pytest.mark.django_db
@pytest.mark.usefixtures("club", "a_worker")
@pytest.mark.parametrize("host", ["10.1.2.3:8000", "fledge.club.example", "web"])
def test_a_probe_comes_by_a_number_and_without_https(host):
    for address, says in ((LIVE, {"live": True}), (READY, {"ready": True})):
        answer = Client(headers={"Host": host}).get(address)
        assert (answer.status_code, answer.json()) == (200, says)
        assert answer.cookies == {}
        assert "no-store" in answer.headers["Cache-Control"]


@pytest.mark.django_db
@pytest.mark.usefixtures("club")
@pytest.mark.parametrize("path", ["/sign-in/", "/health/liver", "/health/"])
def test_nothing_else_is_answered_by_a_number(path):
    answer = Client(headers={"Host": "10.1.2.3:8000"}).get(path, secure=True)
    assert answer.status_code in {400, 404}
    assert "10.1.2.3" not in answer.content.decode()


def test_that_it_lives_is_said_without_the_database():
    # Without `django_db`, asking it would raise.
    assert Client().get(LIVE).status_code == 200
    assert reverse("program:live") == LIVE


@pytest.mark.django_db
@pytest.mark.parametrize("broken", ["database", "migrations", "uploads"])
def test_it_is_not_ready_without_what_a_page_needs(monkeypatch, broken):
    said = [
        Check(each.name, lambda: wrong("away", ""), for_ready=each.for_ready)
        if each.name == broken
        else Check(each.name, lambda: well(""), for_ready=each.for_ready)
        for each in checks.CHECKS
    ]
    monkeypatch.setattr("program.operations.health.CHECKS", said)
    answer = Client().get(READY)
    assert (answer.status_code, answer.json()) == (503, {"ready": False, "wrong": broken})


@pytest.mark.django_db
def test_what_pages_can_do_without_does_not_make_it_unready(monkeypatch):
    mail = Check("mail server", lambda: wrong("away", ""))
    monkeypatch.setattr("program.operations.health.CHECKS", [mail])
    assert Client().get(READY).status_code == 200


def test_a_check_that_breaks_is_a_check_that_is_wrong():
    def breaks():
        raise OperationalError("of Mira F.")

    result = Check("worker", breaks).run()
    assert result.is_wrong
    assert "Mira" not in result.says
