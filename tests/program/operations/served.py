"""Fledge as its web server runs it, over a Postgres of its own that a test may stop and hold up."""

import http.client
import os
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import psycopg

from program.config import embedded_postgres
from program.config.row_security import BEGINS_AS_THE_PROGRAM
from program.operations.web_server import opened_door, web_servers
from tests.program.config.embedded_postgres.ground import FORGETFUL
from tests.program.demo.test_demo_command import REPOSITORY, spare_port

SETTINGS_OF_THE_TEST_RUN = {"DATABASE_URL", "DATABASE_OWNER_URL", "DEBUG", "FLEDGE_POOL"}
TOKEN = "a" * 32
PATIENCE = 30
LOCK_TIMEOUT = 1  # seconds

WITH_A_COACH = """
from django.core.management import call_command
call_command("migrate", verbosity=0)
from athletes.session_store import SessionStore
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from athletes.models import User
coach = User.objects.create(email="coach@club.example", name="Own Coach", role="head_coach")
session = SessionStore()
session[SESSION_KEY] = str(coach.pk)
session[BACKEND_SESSION_KEY] = "allauth.account.auth_backends.AuthenticationBackend"
session[HASH_SESSION_KEY] = coach.get_session_auth_hash()
session.save()
from tests.support.beats import a_worker_beats
a_worker_beats()
print(session.session_key)
"""


class Served:
    """A web server with one coach who is signed in."""

    def __init__(self, ground: Path, **environ: str) -> None:
        self.ground, self.data_dir, self.port = ground, ground / "data", spare_port()
        kept = {k: v for k, v in os.environ.items() if k not in SETTINGS_OF_THE_TEST_RUN}
        self.environ = {**kept, "DEMO": "1", "FLEDGE_DATA_DIR": str(self.data_dir), **environ}
        self.start_database()
        self.session = self.manage("shell", "-v0", "-c", WITH_A_COACH).stdout.split()[-1]

    def start_database(self) -> None:
        self.database = embedded_postgres.start(self.data_dir, FORGETFUL)

    def stop_database(self) -> None:
        embedded_postgres.stop(self.data_dir)

    def manage(self, *command: str, **environ: str) -> subprocess.CompletedProcess[str]:
        return self.run("manage.py", *command, **environ)

    def run(self, *command: str, **environ: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, *command],
            cwd=REPOSITORY,
            env=self.environ | environ,
            capture_output=True,
            text=True,
            check=False,
        )

    def start(self) -> None:
        self.log = (self.ground / "log").open("w+")  # a pipe that nobody reads would fill up
        with opened_door("127.0.0.1", self.port) as door:
            (process,) = web_servers(door, processes=1, threads=4)
            self.server = subprocess.Popen(
                process.command,
                cwd=process.folder,
                env=self.environ,
                pass_fds=process.handles,
                stdout=self.log,
                stderr=subprocess.STDOUT,
            )
        deadline = time.monotonic() + PATIENCE
        while time.monotonic() < deadline:
            try:
                self.get("/health/live")
                return
            except OSError:
                time.sleep(0.05)
        raise AssertionError(self.stop())

    def stop(self) -> str:
        """What it said."""
        self.server.terminate()
        self.server.wait(PATIENCE)
        with self.log:
            self.log.seek(0)
            return self.log.read()

    def get(self, path: str) -> SimpleNamespace:
        return self.ask("GET", path)

    def ask(self, method: str, path: str, **headers: str) -> SimpleNamespace:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        cookie = f"sessionid={self.session}; csrftoken={TOKEN}"
        begun = time.monotonic()
        try:
            headers = {"Cookie": cookie, "X-CSRFToken": TOKEN, **headers}
            line.request(method, path, body="" if method == "POST" else None, headers=headers)
            answer = line.getresponse()
            body = answer.read().decode()
            took = time.monotonic() - begun
            return SimpleNamespace(
                status=answer.status, headers=answer.headers, body=body, took=took
            )
        finally:
            line.close()

    def connected(self) -> psycopg.Connection:
        return psycopg.connect(self.database.url("fledge_owner"), options=BEGINS_AS_THE_PROGRAM)
