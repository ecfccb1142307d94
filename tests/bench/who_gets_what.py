"""How long the builder's margin takes: `uv run python -m tests.bench.who_gets_what`.

Goal: fit counts for a cohort of 60 within 150 ms at the 95th percentile on two cores. Beside it the
builder's page and its panel's look, which is fit counts and checks at once. Measured through the
whole stack but the socket: middleware, queries, fit and template, on the demo's data.
"""

import os
import statistics
import time

os.environ["DJANGO_SETTINGS_MODULE"] = "program.config.settings"
import tests.postgres  # noqa: F401 -- starts a Postgres of its own before Django reads its settings

ROUNDS = 60


def main() -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client
    from django.urls import reverse
    from django.utils import timezone

    from athletes.models import Child, User
    from program.demo.load import Size, load_demo
    from program.models import Session

    call_command("migrate", verbosity=0)
    call_command("load_library", verbosity=0)
    load_demo(Size(athletes=180, weeks=2), seed=3, today=timezone.localdate())
    session = Session.objects.order_by("date").first()
    size = Child.objects.enrolled_in(session.block.cohort, session.date).count()
    client = Client()
    client.force_login(
        User.objects.get(email="head@fledge.example"),
        backend="allauth.account.auth_backends.AuthenticationBackend",
    )
    for name in ("fit_counts", "who_gets_what", "build", "look"):
        address = reverse(f"program:{name}", args=[session.pk])
        took = [_milliseconds(client, address) for _ in range(ROUNDS)]
        clock, work = (sorted(each) for each in zip(*took, strict=True))
        p95 = clock[int(ROUNDS * 0.95) - 1]
        print(
            f"{name}, {size} children: median {statistics.median(clock):.0f} ms, p95 {p95:.0f} ms;"
            f" work of this process, median {statistics.median(work):.0f} ms"
        )


def _milliseconds(client, address: str) -> tuple[float, float]:
    """By the clock, and of this process's work alone, whatever else the machine is doing."""
    start, worked = time.perf_counter(), time.process_time()
    answer = client.get(address, headers={"host": "127.0.0.1"})
    assert answer.status_code == 200
    return (time.perf_counter() - start) * 1000, (time.process_time() - worked) * 1000


if __name__ == "__main__":
    main()
