"""Real workers on a real queue: killed, cut off, told to stop. `python -m tests.faults` does the
same fifty times."""

import signal
import time

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob, ProcrastinateWorker

from athletes.mailing import send_after_commit, written_mail
from athletes.models import OutgoingMail
from library.shared.task_queue import Queue, enqueue, is_anybody_working, task
from tests.faults.worker import cut_in_the_middle, kill_in_the_middle
from tests.faults.world import until, worker

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def work_is_done_after_each_commit() -> None:
    """Not here: workers do it."""


@pytest.fixture
def environ() -> dict[str, str]:
    there = connection.settings_dict
    url = f"postgres://{there['USER']}@/{there['NAME']}?host={there['HOST']}&port={there['PORT']}"
    return {"DATABASE_URL": url}


def both_queues_have_one() -> bool:
    return ProcrastinateWorker.objects.count() == len(Queue)


def test_killed_or_cut_off_in_the_middle_it_loses_nothing_and_does_nothing_twice(environ):
    call_command("load_library", verbosity=0)
    call_command("load_demo", athletes=6, weeks=2, verbosity=0)
    assert kill_in_the_middle(2, environ) == []
    assert cut_in_the_middle(2, environ) == []


def test_a_worker_says_that_it_is_there_and_takes_its_leave(environ):
    with worker(environ) as process:
        assert until(both_queues_have_one)
        assert is_anybody_working()
        process.send_signal(signal.SIGTERM)
        _, said = process.communicate(timeout=20)
    assert (process.returncode, said) == (0, "")
    assert not ProcrastinateWorker.objects.exists()


def test_a_worker_that_is_interrupted_in_its_first_second_leaves_without_a_traceback(environ):
    with worker(environ) as process:
        time.sleep(0.6)
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=20)
    assert "Traceback" not in said


def test_what_a_clock_that_ran_ahead_has_put_off_for_a_day_is_done_now(environ):
    with transaction.atomic():
        send_after_commit([written_mail("", "About", "Body")])
    with connection.cursor() as cursor:
        cursor.execute("UPDATE procrastinate_jobs SET scheduled_at = now() + interval '1 day'")
    with worker(environ):
        assert until(lambda: not OutgoingMail.objects.exists(), 20)


@task("tests.of_another_release", Queue.CHANGES)
def of_another_release() -> None:
    """The workers here do not know it."""


def test_a_task_that_only_a_newer_release_knows_waits_for_it(environ):
    with transaction.atomic():
        enqueue(of_another_release)
    mine = ProcrastinateJob.objects.filter(task_name=of_another_release.name)
    with worker(environ):
        assert until(lambda: mine.filter(status="failed").exists())
        assert until(lambda: mine.filter(status="todo", scheduled_at__gt=timezone.now()).exists())
