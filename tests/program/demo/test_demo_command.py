"""The life of `manage.py demo`, driven as a person drives it: started, stopped, killed, started."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import psycopg
import pytest

from program.config.embedded_postgres import connection_settings, locations, server
from program.operations import serving
from tests.program.config.embedded_postgres.ground import end_servers_under, made_folder

REPOSITORY = Path(__file__).resolve().parents[3]
SETTINGS_OF_THE_TEST_RUN = {"DATABASE_URL", "DATABASE_OWNER_URL", "DEBUG", "FLEDGE_POOL"}


def spare_port() -> int:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return door.getsockname()[1]


class Demo:
    """A running `manage.py demo` over one data folder."""

    def __init__(self, data_dir: Path, port: int) -> None:
        environ = {k: v for k, v in os.environ.items() if k not in SETTINGS_OF_THE_TEST_RUN}
        self.data_dir, self.port = data_dir, port
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--port", str(port)],
            cwd=REPOSITORY,
            env={**environ, "DEMO": "1", "FLEDGE_DATA_DIR": str(data_dir)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.said: list[str] = []

    def ready(self) -> "Demo":
        for line in self.process.stdout:
            self.said.append(line)
            if "Ctrl-C" in line:
                return self
        raise AssertionError(f"the demo ended: {self.process.communicate()}")

    def get(self, address: str) -> int:
        url = f"http://127.0.0.1:{self.port}{address}"
        with urllib.request.urlopen(url, timeout=10) as response:
            return response.status

    def child(self, words: str) -> int | None:
        """The process of ours that was started with these words."""
        for pid in children(self.process.pid):
            if words in Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " "):
                return pid
        return None

    @property
    def web_server(self) -> int | None:
        return self.child("program.operations.web_server")

    @property
    def task_worker(self) -> int | None:
        return self.child("manage.py work")

    @property
    def postmaster(self) -> int:
        return server._serving(locations.locate(self.data_dir))

    def ask(self, question: str):
        told = connection_settings(self.data_dir, "fledge_web")
        with psycopg.connect(
            host=told["HOST"],
            port=told["PORT"],
            user=told["USER"],
            dbname=told["NAME"],
            options="-c fledge.sees_all=on",
        ) as connection:
            cursor = connection.execute(question)
            return cursor.fetchone()[0] if cursor.description else None

    def end(self, number: int = signal.SIGTERM) -> int:
        self.process.send_signal(number)
        return self.ended()

    def ended(self) -> int:
        """Wait until it has ended, and its web server too, as that writes into the same pipes."""
        _, self.errors = self.process.communicate(timeout=60)
        return self.process.returncode


def children(pid: int) -> list[int]:
    return [int(word) for word in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def answers(port: int) -> bool:
    with socket.socket() as door:
        return door.connect_ex(("127.0.0.1", port)) == 0


def wait_until(true: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 60
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.02)


@pytest.fixture(scope="module")
def first_ground() -> Iterator[Path]:
    yield from cleared_afterwards()


@pytest.fixture
def ground() -> Iterator[Path]:
    yield from cleared_afterwards()


def cleared_afterwards() -> Iterator[Path]:
    ground = made_folder(in_memory=True)
    yield ground
    end_servers_under(ground)
    shutil.rmtree(ground)


@pytest.fixture(scope="module")
def first_day(first_ground: Path) -> SimpleNamespace:
    """A first start, looked at and stopped: what it said and did, and the data it left."""
    running = Demo(first_ground / "data", spare_port()).ready()
    running.ask("UPDATE athletes_cohort SET name = 'Renamed by a visitor' WHERE id = 1")
    return SimpleNamespace(
        data_dir=running.data_dir,
        port=running.port,
        said="".join(running.said),
        sign_in=running.get("/sign-in/"),
        styles=running.get("/static/css/base.css"),
        children=running.ask("SELECT count(*) FROM athletes_child"),
        status=running.end(),
        left=server._at_work_in(running.data_dir / "postgres"),
    )


@pytest.fixture
def start(first_day: SimpleNamespace, ground: Path) -> Iterator[Callable[[], Demo]]:
    """Starts the demo over a copy of the first day's data, as often as asked, on one port."""
    subprocess.run(["cp", "-a", first_day.data_dir, ground / "data"], check=True)
    port, started = spare_port(), []

    def another() -> Demo:
        started.append(Demo(ground / "data", port))
        return started[-1]

    yield another
    for each in started:
        if each.process.returncode is None:
            each.end()


def test_a_first_start_serves_the_program_and_says_where_and_for_whom(first_day):
    assert f"http://127.0.0.1:{first_day.port}/" in first_day.said
    assert "@fledge.example" in first_day.said
    assert str(first_day.data_dir) in first_day.said
    assert (first_day.sign_in, first_day.styles) == (200, 200)
    assert first_day.children > 0


def test_a_stopped_demo_leaves_nothing_running(first_day):
    assert first_day.status == 128 + signal.SIGTERM
    assert first_day.left == set()
    assert not answers(first_day.port)


def test_a_second_start_finds_the_same_data_and_ctrl_c_stops_all_without_a_word(start, first_day):
    running = start().ready()
    assert running.ask("SELECT count(*) FROM athletes_child") == first_day.children
    assert running.ask("SELECT name FROM athletes_cohort WHERE id = 1") == "Renamed by a visitor"
    assert running.end(signal.SIGINT) == 128 + signal.SIGINT
    assert running.errors == ""
    assert server._at_work_in(running.data_dir / "postgres") == set()
    assert not answers(running.port)


def test_a_killed_demo_takes_its_web_server_along_and_the_next_start_adopts_postgres(start):
    first = start().ready()
    postmaster = first.postmaster
    first.end(signal.SIGKILL)
    second = start().ready()
    assert second.get("/sign-in/") == 200
    assert second.postmaster == postmaster


def test_what_is_killed_is_started_again_and_said_and_who_knocks_meanwhile_is_answered(start):
    running = start().ready()
    for which in ("web_server", "task_worker"):
        killed = getattr(running, which)
        os.kill(killed, signal.SIGKILL)
        assert running.get("/sign-in/") == 200
        assert "ended by itself (SIGKILL)" in running.process.stdout.readline()
        wait_until(lambda: getattr(running, which) not in (None, killed))  # noqa: B023 -- at once


def test_a_killed_postgres_is_started_again_with_all_that_was_saved(start):
    running = start().ready()
    running.ask("UPDATE athletes_cohort SET name = 'Just before the crash' WHERE id = 1")
    killed = running.postmaster
    os.kill(killed, signal.SIGKILL)
    assert "Postgres ended by itself. It runs again" in running.process.stdout.readline()
    assert running.postmaster not in (None, killed)
    assert running.ask("SELECT name FROM athletes_cohort WHERE id = 1") == "Just before the crash"
    wait_until(lambda: served(running))
    assert running.end() == 128 + signal.SIGTERM
    assert server._at_work_in(running.data_dir / "postgres") == set()


def test_postgres_killed_and_its_folder_gone_ends_the_demo_in_plain_words(start):
    running = start().ready()
    postmaster = running.postmaster
    os.kill(postmaster, signal.SIGKILL)
    wait_until_dead(postmaster)
    (running.data_dir / "postgres").rename(running.data_dir / "elsewhere")
    assert running.ended() == 1
    *_, last = running.errors.splitlines()  # after what the worker says of its connections
    assert last.startswith("CommandError: The data folder ")


def wait_until_dead(pid: int) -> None:
    """Gone, or not yet taken leave of by its parent."""
    stat = Path(f"/proc/{pid}/stat")
    with contextlib.suppress(OSError):
        while stat.read_text().rpartition(")")[2].split()[0] != "Z":
            time.sleep(0.01)


def served(running: Demo) -> bool:
    """Right after Postgres was killed a page may still meet a connection to it."""
    try:
        return running.get("/sign-in/") == 200
    except urllib.error.HTTPError:
        return False


@pytest.mark.parametrize("text", ["0", "65536", "eighty", "-1"])
def test_what_is_no_port_is_refused(text):
    with pytest.raises(serving.ArgumentTypeError, match="is not a port"):
        serving.port_number(text)
