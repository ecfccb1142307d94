"""What waits in the task queue, done here and now."""

import json
from smtplib import SMTPException

from django.db import connection, transaction
from procrastinate.contrib.django import app


def work_off() -> None:
    """Do all that is due, one after the other, on this connection. What a mail server refuses stays
    for later; whatever else fails, fails the test."""
    app.perform_import_paths()
    while job := _next():
        key, name, arguments = job
        try:
            app.tasks[name](**json.loads(arguments))
        except (OSError, SMTPException):
            _query(
                "procrastinate_retry_job_v2(%s, now() + interval '1 day', NULL, NULL, NULL)", key
            )
        else:
            _query("procrastinate_finish_job_v1(%s, 'succeeded', true)", key)


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
