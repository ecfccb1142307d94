"""Of two who wait for each other the database stops one. What it had begun is undone, so it is done
once more, whole; the person never hears of it."""

import psycopg
import pytest
from django.contrib import messages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection, transaction
from django.urls import reverse

from athletes.models import Cohort
from program.web.busy import NOTHING_CHANGED, PERHAPS_CHANGED
from program.web.try_again import TRIES
from tests.support.factories import CohortFactory

pytestmark = pytest.mark.django_db(transaction=True)

STOPPED = psycopg.errors.DeadlockDetected("deadlock detected")


def stop(cause: psycopg.Error = STOPPED) -> None:
    raise OperationalError(str(cause)) from cause


@pytest.fixture
def view(monkeypatch):
    """Has `already_done`, within the transaction of a new break, do something first."""

    def put(before) -> list[int]:
        asked: list[int] = []

        def done(request, *what) -> bool:
            asked.append(len(asked) + 1)
            before(request, asked[-1])
            return False

        monkeypatch.setattr("program.blocks.views.breaks.already_done", done)
        return asked

    return put


def send(client, cast, **more):
    said = {"name": "Away", "first": "2026-11-02", "last": "2026-11-03", "cohort": cast.cohort.pk}
    return client.post(reverse("program:breaks"), said | more)


def test_what_was_stopped_is_done_once_more(coach, cast, view):
    def stopped_once(request, nth) -> None:
        CohortFactory(name="Larks")
        if nth == 1:
            stop()

    asked = view(stopped_once)
    answer = send(coach, cast)
    assert answer.status_code == 302
    assert asked == [1, 2]
    assert Cohort.objects.filter(name="Larks").count() == 1
    assert cast.cohort.breaks.count() == 1


def test_stopped_again_and_again_it_is_a_page_that_says_so(coach, cast, view):
    asked = view(lambda request, nth: stop())
    answer = send(coach, cast)
    assert (answer.status_code, len(asked)) == (503, TRIES)
    assert NOTHING_CHANGED in answer.content.decode()
    assert not cast.cohort.breaks.exists()


def test_a_wait_that_took_too_long_is_not_begun_again(coach, cast, view):
    asked = view(lambda request, nth: stop(psycopg.errors.LockNotAvailable("lock timeout")))
    assert send(coach, cast).status_code == 503
    assert asked == [1]


def test_what_is_kept_already_is_never_done_twice(coach, cast, view, monkeypatch):
    """A page that writes in two transactions: the first has come through."""

    def kept(self) -> bool:
        with transaction.atomic():
            CohortFactory(name=f"Larks {Cohort.objects.count()}")
        return True

    monkeypatch.setattr("program.blocks.views.breaks.BreakForm.is_valid", kept)
    asked = view(lambda request, nth: stop())
    answer = send(coach, cast)
    assert (answer.status_code, asked) == (503, [1])
    assert PERHAPS_CHANGED in answer.content.decode()


def test_a_file_that_was_sent_is_not_read_twice(coach, cast, view):
    asked = view(lambda request, nth: stop())
    assert send(coach, cast, photo=SimpleUploadedFile("a.txt", b"x")).status_code == 503
    assert asked == [1]


def test_stopped_when_all_was_written_and_only_the_end_was_waited_for_it_is_undone_too(
    coach, cast, view, monkeypatch
):
    """Whether the children of a foreign key have their parent is asked at the commit, which waits
    for whoever deletes it."""
    view(lambda request, nth: None)
    commits = []

    def commit() -> None:
        commits.append(1)
        connection.connection.rollback()
        stop()

    monkeypatch.setattr(connection, "_commit", commit)
    answer = send(coach, cast)
    assert (answer.status_code, len(commits)) == (503, TRIES)
    assert NOTHING_CHANGED in answer.content.decode()


def test_what_was_said_and_remembered_of_it_is_forgotten_with_it(coach, cast, view):
    def remembers(request, nth) -> None:
        messages.success(request, f"Try {nth} is saved.")
        request.session["taken_out"] = [*request.session.get("taken_out", []), nth]
        if nth == 1:
            stop()

    view(remembers)
    send(coach, cast)
    assert coach.session["taken_out"] == [2]
    page = coach.get(reverse("program:breaks")).content.decode()
    assert "Try 2 is saved." in page
    assert "Try 1" not in page


def test_nothing_is_remembered_of_what_was_stopped_for_good(coach, cast, view):
    def remembers(request, nth) -> None:
        messages.success(request, "It is saved.")
        request.session["taken_out"] = [nth]
        stop(psycopg.errors.LockNotAvailable("lock timeout"))

    view(remembers)
    assert send(coach, cast).status_code == 503
    assert "taken_out" not in coach.session
    assert "It is saved." not in coach.get(reverse("program:breaks")).content.decode()
