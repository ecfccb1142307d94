"""A worker, a mail server that remembers, and what must be true whatever happened."""

import contextlib
import datetime as dt
import os
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path

from aiosmtpd.controller import Controller
from django.db import connection
from django.db.models import Q, QuerySet
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.models import OutgoingMail
from program.fit.choices import fingerprint
from program.models import AssignedSession, Session
from program.publish.closing import children_who_hold_what_is_forbidden
from tests.support.deciding import choose_for

REPOSITORY = Path(__file__).resolve().parents[2]
PULSE = 0.25
"""Seconds between two signs of life of a worker here: a dead one is noticed within a second."""

PATIENCE = 60


class Mailbox:
    """A mail server on 127.0.0.1 that counts each mail by its Message-ID."""

    def __init__(self) -> None:
        self.taken: Counter[str] = Counter()
        with socket.socket() as spare:
            spare.bind(("127.0.0.1", 0))
            self._port = spare.getsockname()[1]
        self._server = Controller(self, hostname="127.0.0.1", port=self._port)

    async def handle_DATA(self, server, session, envelope) -> str:  # noqa: N802 -- aiosmtpd's name
        text = envelope.content.decode()
        self.taken[text.split("Message-ID: ", 1)[1].split("\r\n", 1)[0].strip()] += 1
        return "250 taken"

    def __enter__(self) -> "Mailbox":
        self._server.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._server.stop()

    @property
    def environ(self) -> dict[str, str]:
        return {"MAIL_HOST": "127.0.0.1", "MAIL_PORT": str(self._port)}


@contextlib.contextmanager
def worker(environ: Mapping[str, str]) -> Iterator[subprocess.Popen]:
    """`manage.py work`, ended with the block where it has not been before."""
    process = subprocess.Popen(
        [sys.executable, "manage.py", "work", "--pulse", str(PULSE)],
        cwd=REPOSITORY,
        env={**os.environ, **environ},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.send_signal(signal.SIGTERM)
        try:
            process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.communicate()


def is_being_done() -> bool:
    """Whether a worker is at one of the tasks that follow changes."""
    return ProcrastinateJob.objects.filter(status="doing", lock__isnull=False).exists()


def until(what, seconds: float = PATIENCE) -> bool:
    deadline = time.monotonic() + seconds
    while not what():
        if time.monotonic() > deadline:
            return False
        time.sleep(0.005)
    return True


def is_idle() -> bool:
    return not _due().exists() and not OutgoingMail.objects.exists()


def _due() -> QuerySet[ProcrastinateJob]:
    """But for what is put off until this evening, as a digest is."""
    return ProcrastinateJob.objects.filter(
        Q(scheduled_at__isnull=True) | Q(scheduled_at__lte=timezone.now())
    )


def cut_everybody_off() -> None:
    """End every connection of the web role to this database but ours."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND usename = current_user"
            " AND pid <> pg_backend_pid()"
        )


def findings_of_safety(today: dt.date) -> list[str]:
    """The standing invariant, which holds at every moment."""
    if found := children_who_hold_what_is_forbidden(today):
        return [f"{len(found)} children hold a session that their facts forbid"]
    return []


def findings_when_idle(today: dt.date) -> list[str]:
    """What must be true once all work is done: nothing lost, nothing half done."""
    found = findings_of_safety(today)
    if waiting := _due().count():
        found.append(f"{waiting} tasks are still waiting")
    if mails := OutgoingMail.objects.count():
        found.append(f"{mails} mails have not left")
    closed = AssignedSession.objects.untouched().filter(closed_at__isnull=False).count()
    if closed:
        found.append(f"{closed} sessions were left closed")
    return found + _out_of_date(today)


def _out_of_date(today: dt.date) -> list[str]:
    """Sessions that a child has and that fit, asked again, would choose otherwise."""
    found = []
    published = Session.objects.filter(published_at__isnull=False, date__gte=today).with_plan()
    for session in published:
        if session.is_edited_since_publishing:
            continue
        mine = session.assigned.untouched().select_related("child")
        there = {each.child_id: each for each in mine}
        for chosen in choose_for(session, [each.child for each in there.values()]):
            had = there[chosen.child_id].fingerprint
            if chosen.is_held or fingerprint(session, chosen) != had:
                found.append(f"session {session.pk} is not what fit chooses for a child")
    return found
