"""`manage.py serve`: everything on a machine of one's own, by one command, from an empty folder."""

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

from program.operations import serving
from tests.program.config.embedded_postgres.ground import end_servers_under, made_folder
from tests.program.demo.test_demo_command import (
    REPOSITORY,
    SETTINGS_OF_THE_TEST_RUN,
    answers,
    children,
    spare_port,
)


class Serving:
    """A running `manage.py serve` with an operator's settings, over one data folder."""

    def __init__(self, ground: Path, *options: str) -> None:
        environ = {k: v for k, v in os.environ.items() if k not in SETTINGS_OF_THE_TEST_RUN}
        self.port = spare_port()
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--port", str(self.port), *options],
            cwd=REPOSITORY,
            env=environ | settings_of(ground),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def said_until(self, word: str) -> str:
        said = ""
        for line in self.process.stdout:
            said += line
            if word in line:
                return said
        raise AssertionError(f"it ended: {said}{self.process.communicate()}")

    def get(self, address: str, **headers: str) -> tuple[int, str]:
        url = f"http://127.0.0.1:{self.port}{address}"
        try:
            with urllib.request.urlopen(urllib.request.Request(url, headers=headers)) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as refused:
            return refused.code, ""

    def started(self) -> list[str]:
        """What runs beside Postgres."""
        commands = [
            Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")
            for pid in children(self.process.pid)
        ]
        return sorted(line.split(" ", 1)[1].strip() for line in commands if "postgres" not in line)

    def end(self) -> int:
        if self.process.returncode is None:
            self.process.send_signal(signal.SIGTERM)
        return self.ended()

    def ended(self) -> int:
        if self.process.returncode is not None:
            return self.process.returncode
        _, self.errors = self.process.communicate(timeout=60)
        return self.process.returncode


def settings_of(ground: Path) -> dict[str, str]:
    return {
        "SECRET_KEY": "of-this-test-alone-and-long-enough-to-be-taken-for-a-real-one-0123456789",
        "FLEDGE_DATA_DIR": str(ground / "data"),
        "STATIC_ROOT": str(ground / "static"),
        "FLEDGE_UPLOADS_DIR": str(ground / "uploads"),
        "ALLOWED_HOSTS": "127.0.0.1",
    }


HTTPS = {"X-Forwarded-Proto": "https"}


@contextlib.contextmanager
def ended_afterwards(running: Serving) -> Iterator[Serving]:
    try:
        yield running
    finally:
        running.end()


@pytest.fixture(scope="module")
def ground() -> Iterator[Path]:
    folder = made_folder(in_memory=True)
    yield folder
    end_servers_under(folder)
    shutil.rmtree(folder)


@pytest.fixture(scope="module")
def first_evening(ground: Path) -> SimpleNamespace:
    """A first start from nothing, looked at and stopped."""
    with ended_afterwards(Serving(ground, "--prepare", "--processes", "2")) as running:
        said = running.said_until("is served at")
        status, page = running.get("/sign-in/", **HTTPS)
        styles = re.search(r'href="([^"]+\.css)"', page)
        return SimpleNamespace(
            said=said,
            page=status,
            styles=running.get(styles[1], **HTTPS)[0] if styles else page,
            started=running.started(),
            status=running.end(),
            errors=running.errors,
            port=running.port,
        )


def test_a_first_start_prepares_everything_and_serves(first_evening):
    assert "129 exercises in the files: 129 new" in first_evening.said
    assert f"port {first_evening.port}" in first_evening.said
    assert first_evening.page == 200
    assert first_evening.styles == 200


def test_web_processes_and_task_worker_run_side_by_side(first_evening):
    *web, worker = sorted(first_evening.started, key=lambda line: "manage.py work" in line)
    assert worker == "manage.py work"
    assert [line.startswith("-m program.operations.web_server") for line in web] == [True, True]


def test_sigterm_stops_everything_without_a_word(first_evening, ground):
    assert (first_evening.status, first_evening.errors) == (128 + signal.SIGTERM, "")
    assert not answers(first_evening.port)


def test_the_worker_can_run_elsewhere_and_a_second_start_prepares_nothing(first_evening, ground):
    with ended_afterwards(Serving(ground, "--without-worker")) as running:
        said = running.said_until("is served at")
        assert "exercise" not in said
        assert running.get("/sign-in/", **HTTPS)[0] == 200
        assert [line.split()[1] for line in running.started()] == ["program.operations.web_server"]


@pytest.mark.parametrize("text", ["0", "-1", "many", "1.5"])
def test_less_than_one_of_anything_is_refused(text):
    with pytest.raises(serving.ArgumentTypeError, match=f"{text} is not a number from 1 up"):
        serving.at_least_one(text)
