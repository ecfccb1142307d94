"""What row security costs the busiest pages and forms: `uv run python -m tests.bench.row_security`.

Goal: at most a tenth more. The same pages are asked for in turns, with the policies and the saying
of who acts, and without either, and so is what their forms send, as it stands; the clock counts,
since the database does the work. A head coach reads all, so a coach and a parent ask here.
"""

import os
import statistics
import time
from contextlib import nullcontext
from functools import partial
from unittest.mock import patch

os.environ["DJANGO_SETTINGS_MODULE"] = "program.config.settings"
import tests.postgres  # noqa: F401 -- starts a Postgres of its own before Django reads its settings

TURNS, ROUNDS = 6, 12
SIZE = (100, 40)
"""Children, and weeks of which the demo has half behind it."""


def main() -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.utils import timezone

    from program.config.collector import collect_between_requests
    from program.demo.load import Size, load_demo

    collect_between_requests()
    call_command("migrate", verbosity=0)
    call_command("load_library", verbosity=0)
    load_demo(Size(*SIZE), seed=3, today=timezone.localdate())
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
        cursor.execute("SELECT relname FROM pg_class WHERE relrowsecurity")
        tables = [name for (name,) in cursor.fetchall()]
    print(f"{len(tables)} tables held")
    for name, client, address in _pages():
        _print(name, _with_and_without(partial(_opened, client, address), tables))
    for name, client, address in _forms():
        _print(name, _with_and_without(partial(_sent, client, address), tables))


def _people():
    """A parent and a coach in their browsers, a child of both, and a published session of hers."""
    from django.test import Client

    from athletes.models import Guardianship, User
    from program.models import AssignedSession, Session

    def signed_in(person):
        client = Client(headers={"host": "127.0.0.1"})
        client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
        return client

    coach = User.objects.filter(role="coach", cohorts__isnull=False).order_by("pk").first()
    child = AssignedSession.objects.visible_to(coach).order_by("-date", "pk").first().child
    parent = Guardianship.objects.filter(child=child).first().guardian
    session = (
        Session.objects.visible_to(coach).filter(published_at__isnull=False).order_by("pk").last()
    )
    return signed_in(parent), signed_in(coach), child, session


def _pages():
    from django.urls import reverse

    family, desk, child, session = _people()
    yield "family’s day", family, reverse("program:child_day", args=[child.public_id])
    yield "coach’s week", desk, reverse("program:week")
    yield "queue", desk, reverse("program:review")
    yield "child’s page", desk, reverse("program:child_review", args=[child.public_id])
    yield "who gets what", desk, reverse("program:who_gets_what", args=[session.pk])


def _forms():
    from django.urls import reverse
    from django.utils import timezone

    family, desk, child, _ = _people()
    past = child.assigned.filter(date__lt=timezone.localdate()).order_by("date").last()
    yield "a log", family, reverse("program:log", args=[child.public_id, past.public_id])
    yield "a group’s log", desk, reverse("program:group_log", args=[past.session_id])
    yield "what is at home", family, reverse("athletes:kit", args=[child.public_id])


def _with_and_without(milliseconds, tables):
    took = {True: [], False: []}
    for turn in range(2 * TURNS):
        is_held = turn % 2 == 0
        _hold(tables, is_held=is_held)
        with nullcontext() if is_held else _nobody_said():
            milliseconds()  # plans and caches are made anew after the change
            took[is_held] += [milliseconds() for _ in range(ROUNDS)]
    _hold(tables, is_held=True)
    return took


def _nobody_said():
    saying = {"acting_as": _nobody, "writing_as": _nobody}
    return patch.multiple("library.shared.access", **saying)


def _nobody(*who):
    return nullcontext()


def _hold(tables, *, is_held: bool) -> None:
    from django.db import connection

    does = "ENABLE" if is_held else "DISABLE"
    with connection.cursor() as cursor:
        for table in tables:
            cursor.execute(f"ALTER TABLE {table} {does} ROW LEVEL SECURITY")


def _opened(client, address: str) -> float:
    start = time.perf_counter()
    answer = client.get(address)
    assert answer.status_code == 200, answer.status_code
    return (time.perf_counter() - start) * 1000


def _sent(client, address: str) -> float:
    """Of what is on the page now."""
    from tests.support.markup import fields_of

    fields = fields_of(client.get(address))
    start = time.perf_counter()
    answer = client.post(address, fields)
    assert answer.status_code == 302, answer.status_code
    return (time.perf_counter() - start) * 1000


def _print(name: str, took: dict[bool, list[float]]) -> None:
    held, free = (statistics.median(took[each]) for each in (True, False))
    print(f"{name}: {free:.1f} ms without, {held:.1f} ms with: {100 * (held / free - 1):+.1f} %")


if __name__ == "__main__":
    main()
