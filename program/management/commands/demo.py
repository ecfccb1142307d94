"""The whole of Fledge on this machine, by one command.

Three kinds of process, and whichever is killed, the next start finds everything as it was: this
one prepares and supervises; the web server is its child and is told by the kernel when this one is
gone; Postgres outlives both and is adopted by the next start.
"""

import contextlib
import ctypes
import os
import signal
import socket
import subprocess
import sys
import time
from argparse import ArgumentTypeError
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connections, transaction

from athletes.models import Cohort
from program.config import embedded_postgres
from program.config.embedded_postgres import locks

HOST = "127.0.0.1"
SECONDS_TO_FREE_THE_PORT = 5  # an earlier web server may be on its way out
SECONDS_TO_ANSWER = 60
SECONDS_TO_STOP = 10
TELL_ME_WHEN_MY_PARENT_DIES = 1  # PR_SET_PDEATHSIG, prctl(2)


def port_number(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise ArgumentTypeError(f"{text} is not a port: give a number from 1 to 65535")
    return int(text)


class Command(BaseCommand):
    help = "Start everything with an invented program to look around in. Ctrl-C stops everything."
    requires_system_checks = []  # they ask the database, which is not running yet

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=port_number, default=8000)

    def handle(self, *args: Any, port: int, **options: Any) -> None:
        refuse_a_port_in_use(port)
        try:
            with postgres() as place:
                prepare()
                with web_server(port) as server:
                    wait_for_answer(server, port)
                    self.stdout.write(welcome(port, place))
                    self.stdout.flush()
                    status = server.wait()
        except embedded_postgres.EmbeddedPostgresError as error:
            raise CommandError(str(error)) from error
        raise CommandError(f"The web server ended by itself ({status}). Start the demo again.")


def refuse_a_port_in_use(port: int) -> None:
    deadline = time.monotonic() + SECONDS_TO_FREE_THE_PORT
    while True:
        with socket.socket() as door:
            door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                door.bind((HOST, port))
            except PermissionError as error:
                raise CommandError(f"Port {port} is not open to you: give another.") from error
            except OSError as error:
                if time.monotonic() > deadline:
                    raise CommandError(
                        f"Port {port} is in use, perhaps by another demo. Stop that one, or give "
                        f"another port: manage.py demo --port {port + 1}"
                    ) from error
            else:
                return
        time.sleep(0.1)


@contextlib.contextmanager
def postgres() -> Iterator[str]:
    """The database while the demo runs, ended by SIGINT, SIGTERM and SIGHUP; yields where it is."""
    if "DATABASE_URL" in os.environ:
        with locks.ending_on_signals():
            yield "the database named by DATABASE_URL"
    else:
        with embedded_postgres.running(settings.DATA_DIR) as server:
            yield str(server.data_dir)


def prepare() -> None:
    """Migrate, and where there is no cohort load the library and the invented program, whole."""
    call_command("migrate", verbosity=0, interactive=False)
    with transaction.atomic():
        if not Cohort.objects.exists():
            for name in ("load_library", "load_demo"):
                call_command(name)
    connections.close_all()


@contextlib.contextmanager
def web_server(port: int) -> Iterator[subprocess.Popen[bytes]]:
    """Gunicorn, stopped at the end of the block."""
    parent = os.getpid()
    libc = ctypes.CDLL(None, use_errno=True)

    def end_with_parent() -> None:
        libc.prctl(TELL_ME_WHEN_MY_PARENT_DIES, signal.SIGTERM)
        if os.getppid() != parent:  # it died before it could be asked
            os.kill(os.getpid(), signal.SIGKILL)

    server = subprocess.Popen(  # noqa: S603
        [
            *(sys.executable, "-m", "gunicorn", "program.config.wsgi"),
            *("--bind", f"{HOST}:{port}", "--threads", "4", "--graceful-timeout", "3"),
            *("--log-level", "warning", "--no-control-socket"),
        ],
        cwd=settings.BASE_DIR,
        env={**os.environ, "DEMO": "1"},
        start_new_session=True,  # a terminal's Ctrl-C is for this process, which stops the server
        preexec_fn=end_with_parent,  # this process runs no other thread
    )
    try:
        yield server
    finally:
        server.terminate()
        try:
            server.wait(SECONDS_TO_STOP)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


def wait_for_answer(server: subprocess.Popen[bytes], port: int) -> None:
    deadline = time.monotonic() + SECONDS_TO_ANSWER
    while server.poll() is None and time.monotonic() < deadline:
        with contextlib.suppress(OSError), socket.create_connection((HOST, port), timeout=1):
            return
        time.sleep(0.05)
    raise CommandError("The web server did not start; its own words are above.")


def welcome(port: int, place: str) -> str:
    from program.demo import sign_in_lines  # the demo's people exist with DEMO=1 only

    return "\n".join(
        [
            f"Fledge is at http://{HOST}:{port}/",
            *sign_in_lines(),
            f"What you do is kept in {place}. Ctrl-C stops everything.",
        ]
    )
