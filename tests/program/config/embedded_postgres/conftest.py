"""A ground of its own for every test: data folders, and a corner for root's, that go afterwards."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import psycopg
import pytest

from program.config import embedded_postgres
from program.config.embedded_postgres import binaries, locations, server
from tests.program.config.embedded_postgres.ground import FORGETFUL, end_servers_under, made_folder

REPOSITORY = Path(__file__).resolve().parents[4]
OWNER_PROGRAM = """
import sys, time
from pathlib import Path
from program.config import embedded_postgres
from program.config.embedded_postgres import locations
locations.ROOTS_CORNER, data_dir = Path(sys.argv[1]), Path(sys.argv[2])
with embedded_postgres.running(data_dir):
    print("running", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def ground(monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    ground = made_folder(in_memory=True)
    monkeypatch.setattr(locations, "ROOTS_CORNER", ground / "corner")
    monkeypatch.setattr(locations, "OTHERS_CORNER", ground)
    yield ground
    end_servers_under(ground)
    server.forget_ended()
    shutil.rmtree(ground)


@pytest.fixture(scope="session")
def made_once() -> Iterator[Path]:
    """A data folder that was made and cleanly stopped."""
    ground = made_folder(in_memory=True)
    embedded_postgres.start(ground / "data", FORGETFUL)
    embedded_postgres.stop(ground / "data")
    yield ground / "data"
    shutil.rmtree(ground)


@pytest.fixture
def data_dir(ground: Path, made_once: Path) -> Path:
    """A data folder of an earlier day, with its server stopped."""
    subprocess.run(["cp", "-a", made_once, ground / "data"], check=True)
    return ground / "data"


@pytest.fixture
def owner(ground: Path) -> Iterator[Callable[[Path], subprocess.Popen]]:
    """Starts another Python process that runs the server of a data folder until it is ended."""
    started = []

    def run(data_dir: Path, *, wait: bool = True, **kwargs) -> subprocess.Popen:
        process = subprocess.Popen(
            [sys.executable, "-c", OWNER_PROGRAM, ground / "corner", data_dir],
            stdout=subprocess.PIPE,
            cwd=REPOSITORY,
            **kwargs,
        )
        started.append(process)
        if wait:
            assert process.stdout.readline() == b"running\n"
        return process

    yield run
    for process in started:
        process.kill()
        process.wait()
        process.stdout.close()


@pytest.fixture
def bystander() -> Iterator[subprocess.Popen]:
    """A process that has nothing to do with us; it must outlive the test."""
    process = subprocess.Popen(["sleep", "60"])
    yield process
    survived = process.poll() is None
    process.kill()
    process.wait()
    assert survived, "a process that was not ours was ended"


@pytest.fixture
def ask() -> Callable:
    """Asks a server one question in SQL and gives the first column of its first row."""

    def answer(running: embedded_postgres.Server, question: str, role: str = "postgres"):
        with psycopg.connect(running.url(role), autocommit=True) as connection:
            cursor = connection.execute(question)
            return cursor.fetchone()[0] if cursor.description else None

    return answer


@pytest.fixture
def postmaster() -> Callable:
    """The process number of the server of a data folder, as the kernel names it."""

    def pid(data_dir: Path) -> int | None:
        return server._serving(locations.locate(data_dir))

    return pid


def copy_of_the_wheel(target: Path) -> Path:
    for part in (binaries.INSTALLED, binaries.LIBRARIES):
        shutil.copytree(
            binaries.bundled() / part, target / part, ignore=binaries.MADE_FOR_DEVELOPERS
        )
    return target


@pytest.fixture
def moved_wheel(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], Path]]:
    """Puts the bundled programs under another name, as if Fledge were installed there."""
    ground = made_folder(in_memory=False)

    def move(name: str) -> Path:
        wheel = copy_of_the_wheel(ground / name)
        monkeypatch.setattr(binaries, "bundled", lambda: wheel)
        return wheel

    yield move
    shutil.rmtree(ground)


@pytest.fixture(scope="session")
def wheel_copied_for_everyone() -> Iterator[Path]:
    ground = made_folder(in_memory=False)
    yield copy_of_the_wheel(ground / "wheel")
    shutil.rmtree(ground)


@pytest.fixture
def wheel_for_everyone(wheel_copied_for_everyone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bundled programs where every user can reach them, wherever these tests are run."""
    monkeypatch.setattr(binaries, "bundled", lambda: wheel_copied_for_everyone)


@pytest.fixture
def as_user() -> Callable:
    """Runs a function as another user, in a child process; gives what it returned or raised."""
    if os.geteuid() != 0:
        pytest.skip("only root can become another user")

    def run(uid: int, function: Callable[[], str]) -> SimpleNamespace:
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.setgroups([])
            os.setgid(uid)
            os.setuid(uid)
            try:
                said = "returned " + function()
            except Exception as error:
                said = f"raised {type(error).__name__}: {error}"
            os.write(writing, said.encode())
            os._exit(0)
        os.close(writing)
        with os.fdopen(reading) as pipe:
            said = pipe.read()
        os.waitpid(child, 0)
        outcome, _, text = said.partition(" ")
        return SimpleNamespace(outcome=outcome, text=text)

    return run
