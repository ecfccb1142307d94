"""How long the coach's queue and a child's page take: `uv run python -m tests.bench.review`.

Goal: each within 200 ms of server time and 12 queries for 100 children after 40 weeks, at the
median on two cores. Measured through the whole stack but the socket: middleware, queries, rules and
template, on the demo's data. On a machine with other work to do only the processor's time says
anything; the database's is not in it. The garbage is collected after each answer, as the server
does, and counts here. `--profile` shows where the time goes.
"""

import os
import statistics
import sys
import time

os.environ["DJANGO_SETTINGS_MODULE"] = "program.config.settings"
import tests.postgres  # noqa: F401 -- starts a Postgres of its own before Django reads its settings

ROUNDS = 40
SIZE = (100, 80)
"""Children, and weeks of which the demo has half behind it."""


def main() -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client
    from django.urls import reverse
    from django.utils import timezone

    from athletes.models import Child, User
    from program.config.collector import collect_between_requests
    from program.demo.load import Size, load_demo
    from program.models import AssignedSession

    collect_between_requests()
    call_command("migrate", verbosity=0)
    call_command("load_library", verbosity=0)
    load_demo(Size(*SIZE), seed=3, today=timezone.localdate())
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # as autovacuum has long done where forty weeks have passed
    child = Child.objects.order_by("pk")[2]
    print(f"{Child.objects.count()} children, {AssignedSession.objects.count()} sessions")
    client = Client()
    client.force_login(
        User.objects.get(email="head@fledge.example"),
        backend="allauth.account.auth_backends.AuthenticationBackend",
    )
    for name, address in (
        ("queue", reverse("program:review")),
        ("child’s page", reverse("program:child_review", args=[child.public_id])),
    ):
        _milliseconds(client, address)  # reads the library, compiles the templates
        rounds = [_milliseconds(client, address) for _ in range(ROUNDS)]
        took = sorted(wall for wall, _ in rounds)
        p95 = took[int(ROUNDS * 0.95) - 1]
        print(
            f"{name}: median {statistics.median(took):.0f} ms, p95 {p95:.0f} ms, of which the web "
            f"process works {statistics.median(work for _, work in rounds):.0f} ms; "
            f"{_queries(client, address)} queries"
        )
        if "--profile" in sys.argv:
            _profile(client, address)


def _milliseconds(client, address: str) -> tuple[float, float]:
    """By the clock, and of the processor."""
    start, work = time.perf_counter(), time.process_time()
    answer = client.get(address, headers={"host": "127.0.0.1"})
    assert answer.status_code == 200
    return (time.perf_counter() - start) * 1000, (time.process_time() - work) * 1000


def _queries(client, address: str) -> int:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(
        connection,
    ) as asked:
        client.get(address, headers={"host": "127.0.0.1"})
    for each in asked.captured_queries if "--profile" in sys.argv else ():
        print(f"  {each['time']} s  {each['sql'][:3000]}")
    return len(asked)


def _profile(client, address: str) -> None:
    import cProfile
    import pstats

    with cProfile.Profile() as profile:
        for _ in range(5):
            client.get(address, headers={"host": "127.0.0.1"})
    pstats.Stats(profile).sort_stats("cumulative").print_stats(70)


if __name__ == "__main__":
    main()
