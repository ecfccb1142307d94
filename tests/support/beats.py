"""As if a worker were at hand."""

from django.db import connection


def a_worker_beats() -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "INSERT INTO procrastinate_workers (last_heartbeat) VALUES (now() + interval '1 hour')"
        )
