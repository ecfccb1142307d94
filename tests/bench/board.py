"""How long the block board takes: `uv run python -m tests.bench.board`.

Goals on two cores: the board of 16 weeks of 3 sessions of 12 slots, for a cohort of 60, within
200 ms and 12 queries; copying a week forward within 300 ms. Whose block strays most fits every
session to every child, and is told beside them without a goal. Measured through the whole stack but
the socket, with the garbage collector kept between the requests as the server keeps it: a full
collection in the middle of a request is what made every dozenth board slow. What it takes is told,
and in the work of this process, where its p95 shows whether a slow round was ours or the machine's.
"""

import gc
import os
import statistics
import time

os.environ["DJANGO_SETTINGS_MODULE"] = "program.config.settings"
import tests.postgres  # noqa: F401 -- starts a Postgres of its own before Django reads its settings

ROUNDS = 40
WEEKS, SLOTS, CHILDREN = 16, 12, 60


def main() -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client
    from django.urls import reverse
    from django.utils import timezone

    from athletes.models import User
    from program.config.collector import collect_between_requests
    from program.demo.load import Size, load_demo

    collect_between_requests()
    call_command("migrate", verbosity=0)
    call_command("load_library", verbosity=0)
    load_demo(Size(athletes=CHILDREN, weeks=1), seed=3, today=timezone.localdate())
    head = User.objects.get(email="head@fledge.example")
    block = write_block(head)
    client = Client(headers={"host": "127.0.0.1"})
    client.force_login(head, backend="allauth.account.auth_backends.AuthenticationBackend")
    board = reverse("program:block", args=[block.pk])
    client.get(board)
    asked: list[str] = []

    def note(execute, sql, params, many, context):
        asked.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        size = len(client.get(board).content)
    with Collections() as collected:
        tell("board", [milliseconds(lambda: client.get(board)) for _ in range(ROUNDS)])
    print(f"board: {len(asked)} queries, {size // 1024} KB; {collected}")
    children = reverse("program:block_children", args=[block.pk])
    tell("whose block strays most", [milliseconds(lambda: client.get(children)) for _ in range(9)])
    tell("looking at a copy forward", [looking(client, block) for _ in range(ROUNDS)])
    tell("a week copied forward", [copying(client, block) for _ in range(ROUNDS)])


class Collections:
    """The garbage collections of some rounds, by the clock."""

    def __enter__(self):
        self.took, self.full = 0.0, []
        gc.callbacks.append(self._note)
        return self

    def __exit__(self, *_):
        gc.callbacks.remove(self._note)

    def _note(self, phase, info):
        if phase == "start":
            self.began = time.perf_counter()
            return
        took = (time.perf_counter() - self.began) * 1000
        self.took += took
        if info["generation"] == 2:
            self.full.append(took)

    def __str__(self):
        full = f"{len(self.full)} full ones, {max(self.full, default=0):.0f} ms at most"
        return f"garbage collections {self.took / ROUNDS:.0f} ms a round; {full}"


def write_block(head):
    """Three sessions a week for a cohort in which all the children are."""
    import datetime as dt

    from django.utils import timezone

    from athletes.models import Child, Cohort
    from library.models import Exercise
    from program.common.session_outlines import Dated, write_sessions
    from program.engine.outline import PartOutline, SessionOutline, SlotOutline
    from program.engine.prescription import Prescription
    from program.engine.timeline import PartKind
    from program.engine.weeks import monday_of
    from program.models import Block

    today = timezone.localdate()
    cohort = Cohort.objects.create(name="Bench", youngest=8, oldest=14)
    for child in Child.objects.all():
        child.enrolments.update(end=today - dt.timedelta(days=1))
        child.enrolments.create(cohort=cohort, start=today)
    exercises = list(Exercise.objects.published().select_related("current")[: SLOTS * 4])
    slots = [SlotOutline(e.slug, Prescription(e.current.usual, e.current.tempo)) for e in exercises]
    monday = monday_of(today)
    block = Block.objects.create(
        cohort=cohort,
        name="Bench",
        starts_on=monday,
        ends_on=monday + dt.timedelta(weeks=WEEKS + 1, days=-1),
    )
    dated = []
    for number in range(WEEKS * 3):
        held = [slots[(number + place) % len(slots)] for place in range(SLOTS)]
        parts = [
            PartOutline(f"Part {at}", PartKind.SUPERSET, 3, 30, tuple(held[at * 3 : at * 3 + 3]))
            for at in range(SLOTS // 3)
        ]
        outline = SessionOutline(f"Session {number}", "home", 25, parts=tuple(parts))
        day = monday + dt.timedelta(weeks=number // 3, days=number % 3 * 2)
        dated.append(Dated(outline, day))
    write_sessions(block, dated, head)
    return block


def asked():
    return {
        "week": 1,
        "to": [WEEKS + 1],
        "change": "repetitions",
        "pace": "more",
        "beyond": "end",
        "taken": "skip",
    }


def looking(client, block) -> tuple[float, float]:
    from django.urls import reverse

    address = reverse("program:carry", args=[block.pk])
    return milliseconds(lambda: client.get(address, asked()))


def copying(client, block) -> tuple[float, float]:
    """Only the doing is measured; it is looked at before, and taken back after."""
    from django.urls import reverse

    address = reverse("program:carry", args=[block.pk])
    html = client.get(address, asked()).content.decode()
    mark = html.partition('name="mark" value="')[2].partition('"')[0]
    took = milliseconds(lambda: client.post(address, asked() | {"mark": mark}))
    change = block.changes.standing().latest("at")
    client.post(reverse("program:change_back", args=[block.pk, change.pk]))
    return took


def milliseconds(do) -> tuple[float, float]:
    """By the clock, and of this process's work alone, whatever else the machine is doing."""
    start, worked = time.perf_counter(), time.process_time()
    answer = do()
    took = (time.perf_counter() - start) * 1000, (time.process_time() - worked) * 1000
    assert answer.status_code in {200, 302}, answer.status_code
    return took


def tell(what: str, took: list[tuple[float, float]]) -> None:
    clock, work = (sorted(each) for each in zip(*took, strict=True))
    told = f"median {statistics.median(clock):.0f} ms, p95 {p95(clock):.0f} ms"
    ours = f"median {statistics.median(work):.0f} ms, p95 {p95(work):.0f} ms"
    print(f"{what}: {told}; work of this process {ours}")


def p95(ordered: list[float]) -> float:
    return ordered[int(len(ordered) * 0.95) - 1]


if __name__ == "__main__":
    main()
