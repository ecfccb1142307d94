"""When the database is away or held up, a person reads that it is busy and what became of what they
sent; nobody gets a fault."""

import errno
import json
import re
import time
from types import SimpleNamespace

import psycopg
import pytest
from django.db import OperationalError, connection, transaction
from django.test import Client
from django.urls import reverse

from athletes.models import Cohort
from program.web.busy import NOTHING_CHANGED, PERHAPS_CHANGED
from tests.support.factories import BlockFactory, CohortFactory

WEEK = "program.week.views.week_of"


def trouble(cause: psycopg.Error) -> OperationalError:
    error = OperationalError(str(cause))
    error.__cause__ = cause
    return error


TROUBLES = [
    psycopg.errors.LockNotAvailable("canceling statement due to lock timeout"),
    psycopg.errors.QueryCanceled("canceling statement due to statement timeout"),
    psycopg.errors.AdminShutdown("terminating connection"),
    psycopg.errors.DeadlockDetected("deadlock detected"),
    psycopg.errors.DiskFull("no space left on device"),
    psycopg.OperationalError("connection refused"),
]


@pytest.fixture
def broken(monkeypatch):
    """Lets a coach's first page fail."""

    def fail(error: Exception, before=lambda: None) -> None:
        def week(*args):
            before()
            raise error

        monkeypatch.setattr(WEEK, week)

    return fail


@pytest.mark.django_db
def test_a_disk_without_room_is_a_page_that_says_so(coach, broken):
    broken(OSError(errno.ENOSPC, "No space left on device"))
    answer = coach.get(reverse("program:week"))
    assert answer.status_code == 503
    assert NOTHING_CHANGED in answer.content.decode()


@pytest.mark.django_db
@pytest.mark.parametrize("cause", TROUBLES, ids=lambda cause: type(cause).__name__)
def test_a_database_that_is_away_or_held_up_is_a_page_that_says_so(coach, broken, cause):
    broken(trouble(cause))
    answer = coach.get(reverse("program:week"))
    page = answer.content.decode()
    assert answer.status_code == 503
    assert int(answer.headers["Retry-After"]) > 0
    assert NOTHING_CHANGED in page
    assert answer.headers["X-Request-ID"] in page
    assert str(cause) not in page


@pytest.mark.django_db
def test_another_fault_of_the_database_is_a_fault(cast, client_for, broken):
    coach = client_for(cast.coach)
    coach.raise_request_exception = False
    broken(trouble(psycopg.errors.ProgramLimitExceeded("index row too large")))
    answer = coach.get(reverse("program:week"))
    assert answer.status_code == 500
    assert answer.headers["X-Request-ID"] in answer.content.decode()


@pytest.mark.django_db
def test_htmx_gets_the_sentence_alone_and_a_phone_gets_json(coach, broken, monkeypatch):
    broken(trouble(TROUBLES[0]))
    part = coach.get(reverse("program:week"), headers={"HX-Request": "true"})
    assert (part.status_code, part.content.decode()) == (503, NOTHING_CHANGED)
    assert part.headers["Content-Type"].startswith("text/plain")

    def no(*args):
        raise trouble(TROUBLES[-1])

    monkeypatch.setattr("program.log.views.inbox.accept", no)
    item = dict.fromkeys(("id", "child", "session"), "7f0c4d52-5f0e-4b7f-9d55-2f8f4c1f3a10")
    sent = json.dumps(item | {"kind": "started", "fields": {}})
    told = coach.post(reverse("program:inbox"), sent, content_type="application/json")
    assert told.status_code == 503
    assert told.json() == {"state": "busy", "sentence": NOTHING_CHANGED}


# What became of what was sent


@pytest.fixture
def send(cast, coach, monkeypatch):
    """Sends a form whose work is what is given."""
    block = BlockFactory(cohort=cast.cohort)

    def posted(work):
        monkeypatch.setattr("program.report.views.begin", work)
        return coach.post(reverse("program:reports_write", args=[block.pk]))

    return posted


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("error", "kept", "says"),
    [
        (TROUBLES[0], False, NOTHING_CHANGED),
        (TROUBLES[-1], True, PERHAPS_CHANGED),
        (TROUBLES[0], True, PERHAPS_CHANGED),
    ],
)
def test_that_nothing_was_changed_is_said_only_where_it_is_so(send, error, kept, says):
    def begin(block) -> None:
        if kept:
            with transaction.atomic():
                CohortFactory(name="Larks")
        raise trouble(error)

    assert says in send(begin).content.decode()
    assert Cohort.objects.filter(name="Larks").exists() is kept


@pytest.mark.django_db(transaction=True)
def test_a_transaction_stopped_midway_changed_nothing_and_says_so(send):
    def begin(block):
        with transaction.atomic(), connection.cursor() as cursor:
            CohortFactory(name="Larks")
            cursor.execute("SET LOCAL statement_timeout = '20ms'; SELECT pg_sleep(1)")

    assert NOTHING_CHANGED in send(begin).content.decode()
    assert not Cohort.objects.filter(name="Larks").exists()


@pytest.mark.django_db(transaction=True)
def test_a_transaction_that_said_nothing_for_too_long_is_undone_and_says_so(send):
    def begin(block):
        with transaction.atomic(), connection.cursor() as cursor:
            CohortFactory(name="Larks")
            cursor.execute("SET LOCAL idle_in_transaction_session_timeout = '20ms'")
            time.sleep(0.2)
            Cohort.objects.count()

    answer = send(begin)
    assert answer.status_code == 503
    assert NOTHING_CHANGED in answer.content.decode()
    assert not Cohort.objects.filter(name="Larks").exists()


@pytest.mark.django_db(transaction=True)
def test_a_commit_whose_answer_is_lost_may_have_changed_something_and_says_so(send, monkeypatch):
    def begin(block):
        with transaction.atomic():
            CohortFactory(name="Larks")
            monkeypatch.setattr(connection, "commit", lost)

    def lost() -> None:
        monkeypatch.undo()
        raise trouble(psycopg.OperationalError("server closed the connection unexpectedly"))

    assert PERHAPS_CHANGED in send(begin).content.decode()


# Without a database at all


@pytest.fixture
def away(monkeypatch):
    """Every question to the database fails from now on, also those of the frame around a page."""

    def gone(*args, **kwargs):
        raise trouble(psycopg.OperationalError("connection refused"))

    return lambda: monkeypatch.setattr(connection, "cursor", gone)


@pytest.mark.django_db
def test_the_page_needs_no_database_whoever_asks(coach, away):
    away()
    for client, address in ((coach, "program:week"), (coach, "program:blocks")):
        assert client.get(reverse(address)).status_code == 503
    assert Client().get(reverse("account_login")).status_code == 200


@pytest.mark.django_db
def test_a_session_that_cannot_be_kept_is_busy_too(cast, client_for, away, monkeypatch):
    """It is saved after the view, by middleware."""

    def week(request, *args):
        request.session["kept"] = "a choice"
        away()
        from django.http import HttpResponse

        return HttpResponse("done")

    coach = client_for(cast.coach)
    coach.raise_request_exception = False
    monkeypatch.setattr("program.week.views.render", week)
    monkeypatch.setattr(WEEK, lambda *args: SimpleNamespace(told_of=[], is_now=False))
    answer = coach.get(reverse("program:week"))
    assert answer.status_code == 503
    assert re.search(r"\d{3}-\d{3}-\d{3}", answer.content.decode())
