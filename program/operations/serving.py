"""Fledge served from this machine: its database where none is named, web servers and task worker.

Whatever of it dies is started again. If this process is killed, Postgres outlives it and is adopted
by the next start; the others end with it.
"""

import contextlib
import os
import socket
import sys
import time
from argparse import ArgumentTypeError
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from django.conf import settings
from django.core.management.base import CommandError

from program.config import embedded_postgres
from program.config.embedded_postgres import locks
from program.operations.processes import CannotGoOn, KeptRunning, Process, Say, keep_running
from program.operations.web_server import NoDoor

SECONDS_TO_ANSWER = 60
SECONDS_BETWEEN_QUESTIONS = 1.0

WORKER = Process("The task worker", [sys.executable, "manage.py", "work"], folder=settings.BASE_DIR)


def port_number(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise ArgumentTypeError(f"{text} is not a port: give a number from 1 to 65535")
    return int(text)


def at_least_one(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise ArgumentTypeError(f"{text} is not a number from 1 up")
    return int(text)


@contextlib.contextmanager
def in_plain_words() -> Iterator[None]:
    """What keeps Fledge from being served is told in a line, not as a traceback."""
    try:
        yield
    except (embedded_postgres.EmbeddedPostgresError, NoDoor, CannotGoOn) as error:
        raise CommandError(str(error)) from error


@dataclass(frozen=True)
class Database:
    """`where` it is, in words; `mend` is called now and then and starts it where it has died."""

    where: str
    mend: Callable[[], object] = lambda: None


@contextlib.contextmanager
def database(say: Say) -> Iterator[Database]:
    """The one named by DATABASE_URL, or else Fledge's own, which is stopped with the block.

    SIGINT, SIGTERM and SIGHUP end the block by SystemExit. Raises EmbeddedPostgresError.
    """
    if os.environ.get("DATABASE_URL"):
        with locks.ending_on_signals():
            yield Database("the database named by DATABASE_URL")
    else:
        with embedded_postgres.running(settings.DATA_DIR) as server:
            yield Database(str(server.data_dir), _mending(say))


def _mending(say: Say) -> Callable[[], None]:
    asked_at = time.monotonic()

    def mend() -> None:
        nonlocal asked_at
        if time.monotonic() - asked_at >= SECONDS_BETWEEN_QUESTIONS:
            if embedded_postgres.start_again_if_gone(settings.DATA_DIR):
                say("Postgres ended by itself. It runs again, with all that was saved.")
            asked_at = time.monotonic()

    return mend


def keep_serving(
    wanted: Sequence[Process], door: socket.socket, data: Database, say: Say, welcome: str
) -> None:
    """Runs them all and says the welcome once somebody answers at the door; ends by an ending
    signal only. Raises CannotGoOn, EmbeddedPostgresError."""
    with keep_running(wanted, say) as running:
        _wait_for_answer(running, door)
        say(welcome)
        running.look_after(data.mend)


def _wait_for_answer(running: KeptRunning, door: socket.socket) -> None:
    deadline = time.monotonic() + SECONDS_TO_ANSWER
    while time.monotonic() < deadline:
        if ended := running.ended():
            raise CannotGoOn(f"{ended[0]} did not start; its own words are above.")
        with contextlib.suppress(OSError), socket.socket(door.family) as visitor:
            visitor.connect(door.getsockname())
            return
        time.sleep(0.05)
    raise CannotGoOn(f"Nobody answered within {SECONDS_TO_ANSWER} seconds.")
