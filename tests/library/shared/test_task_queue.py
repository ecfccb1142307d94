"""Work after a commit: written with the change, in order for one child, tried until it is done."""

import datetime as dt

import pytest
from django.db import connection, transaction
from django.db.transaction import TransactionManagementError
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob
from procrastinate.jobs import Job

from library.shared import task_queue
from library.shared.task_queue import GrowingPauses, Queue, enqueue, is_waiting, late, task

pytestmark = pytest.mark.django_db


@task("tests.nothing", Queue.CHANGES)
def nothing(number: int) -> None:
    pass


def fetch() -> ProcrastinateJob | None:
    """What a worker would take next."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT id FROM procrastinate_fetch_job_v2(NULL, NULL)")
        return ProcrastinateJob.objects.filter(pk=cursor.fetchone()[0]).first()


def finish(job: ProcrastinateJob) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT procrastinate_finish_job_v1(%s, 'succeeded', true)", [job.pk])


@pytest.mark.django_db(transaction=True)
def test_what_follows_a_change_cannot_be_written_without_it():
    with pytest.raises(TransactionManagementError, match="written with the change"):
        enqueue(nothing, number=1)
    with transaction.atomic():
        enqueue(nothing, number=1)
        transaction.set_rollback(True)
    assert not ProcrastinateJob.objects.exists()


def test_work_for_one_child_is_done_in_the_order_it_was_asked_for():
    for number in (1, 2):
        enqueue(nothing, lock="child-7", number=number)
    enqueue(nothing, lock="child-8", number=3)
    first, other = fetch(), fetch()
    assert (first.args, other.args, fetch()) == ({"number": 1}, {"number": 3}, None)
    finish(first)
    assert fetch().args == {"number": 2}


def test_somebody_who_waits_in_front_of_a_page_comes_before_others():
    enqueue(nothing, number=1)
    enqueue(nothing, priority=10, number=2)
    assert fetch().args == {"number": 2}


@pytest.mark.parametrize(
    ("attempts", "seconds"), [(0, 2), (1, 4), (2, 8), (7, 256), (8, 512), (9, 600), (5000, 600)]
)
def test_the_pauses_between_tries_grow_to_ten_minutes(attempts, seconds):
    job = Job(
        id=1, queue="changes", lock=None, queueing_lock=None, task_name="t", attempts=attempts
    )
    before = timezone.now()
    again = GrowingPauses().get_retry_decision(exception=ValueError(), job=job).retry_at
    assert (
        dt.timedelta(0) <= again - before - dt.timedelta(seconds=seconds) < dt.timedelta(seconds=5)
    )


def test_work_is_late_after_two_minutes_and_after_three_failures(monkeypatch):
    enqueue(nothing, number=1)
    now = timezone.now()
    assert not late(now).exists()
    assert late(now + dt.timedelta(minutes=3)).count() == 1
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET attempts = 3")
    assert late(now).count() == 1


def test_nobody_waits_for_work_that_nobody_does(monkeypatch):
    enqueue(nothing, lock="child-7", number=1)
    assert is_waiting("child-7")
    monkeypatch.setattr(task_queue.time, "sleep", lambda _: pytest.fail("it waited"))
    assert not task_queue.wait_for("child-7")
    assert task_queue.wait_for("child-8")
