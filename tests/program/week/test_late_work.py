"""What has not been done yet is told to whoever can see to it."""

import pytest
from django.db import connection

from athletes.mailing import send_after_commit, written_mail
from athletes.signals import Circumstance
from library.shared.task_queue import enqueue
from program.publish.closing import check_the_invariant, close_and_choose_anew
from program.week.late_work import NOBODY_WORKS
from tests.support.factories import ChildFactory
from tests.support.family import EVENING, text

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


def grow_late() -> None:
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET attempts = 3")


@pytest.fixture
def waiting(cast):
    children = [cast.child, *(ChildFactory(cohort=cast.cohort) for _ in range(4))]
    for child in children:
        close_and_choose_anew(child, Circumstance.KIT, EVENING, EVENING.date())
    send_after_commit([written_mail(f"{n}@example.org", "About", "Body") for n in range(2)])
    enqueue(check_the_invariant)
    return children


def test_a_head_coach_reads_what_waits_and_for_whom(cast, waiting, client_for):
    grow_late()
    page = text(client_for(cast.head_coach).get("/week/"))
    named = ", ".join(str(child) for child in waiting[:3])
    assert f"{named} and 2 more: sessions still to be chosen anew." in page
    assert "2 mails not sent yet." in page
    assert "1 other thing still to be done." in page
    assert NOBODY_WORKS in page


def test_where_a_worker_beats_it_is_not_said_that_there_is_none(cast, waiting, client_for):
    grow_late()
    with connection.cursor() as cursor:
        cursor.execute("INSERT INTO procrastinate_workers (last_heartbeat) VALUES (%s)", [EVENING])
    page = text(client_for(cast.head_coach).get("/week/"))
    assert "2 mails not sent yet." in page
    assert NOBODY_WORKS not in page


def test_another_coach_reads_of_the_own_children_and_of_nothing_else(cast, waiting, client_for):
    grow_late()
    page = text(client_for(cast.coach).get("/week/"))
    assert "Mira T., " in page
    assert "2 more: sessions still to be chosen anew." in page
    assert NOBODY_WORKS not in page
    assert "not sent yet" not in page
    assert "still to be" not in text(client_for(cast.other_coach).get("/week/"))


def test_what_was_asked_for_just_now_is_nothing_to_tell(cast, waiting, client_for, monkeypatch):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_events SET at = %s", [EVENING])
    assert "still to be" not in text(client_for(cast.head_coach).get("/week/"))
