"""What waits in the task queue, done here and now."""

import json
from smtplib import SMTPException

from django.db import connection, transaction
from django.utils import timezone
from procrastinate.contrib.django import app

from tests.support.nobody import as_a_worker


def work_off() -> None:
    """Do all that is due, one after the other, on this connection. What a mail server refuses stays
    for later, and so does what is to be done later than the test's now; whatever else fails, fails
    the test."""
    app.perform_import_paths()
    _leave_for_later()
    while job := _next():
        key, name, arguments = job
        try:
            with as_a_worker():
                app.tasks[name](**json.loads(arguments))
        except (OSError, SMTPException):
            _query(
                "procrastinate_retry_job_v2(%s, now() + interval '1 day', NULL, NULL, NULL)", key
            )
        else:
            _query("procrastinate_finish_job_v1(%s, 'succeeded', true)", key)


def _leave_for_later() -> None:
    """The database's clock is not the test's: by its own, what a test of some weeks ago puts off
    would be due."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE procrastinate_jobs SET scheduled_at = 'infinity'"
            " WHERE status = 'todo' AND scheduled_at > %s",
            [timezone.now()],
        )


def _next() -> tuple[int, str, str] | None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT id, task_name, args FROM procrastinate_fetch_job_v2(NULL, NULL)"
            " WHERE id IS NOT NULL"
        )
        return cursor.fetchone()


def _query(call: str, *arguments: object) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {call}", arguments)


def after_commit() -> None:
    transaction.on_commit(work_off)
