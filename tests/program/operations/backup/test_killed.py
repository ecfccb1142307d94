"""Whoever is killed in the middle leaves everything as it was, and the next one clears up."""

import os
import signal
import time
from collections.abc import Callable

import pytest

from program.operations.backup import postgres
from program.operations.backup.making import back_up

STOPPED = """
import sys, time
import django
django.setup()
from django.core.management import call_command
from program.operations.backup import checking

def stopped(*arguments):
    print("here", flush=True)
    time.sleep(60)

checking.loaded = stopped
call_command(*sys.argv[1:])
"""


def killed_at(function: str, number: int, act: Callable[[], object]) -> None:
    """Kill a process of its own where it calls a function for the nth time."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        stop_at(function, number, writing)
        act()
        os._exit(1)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        assert pipe.read(1) == b"!"
    os.kill(child, signal.SIGKILL)
    assert os.waitpid(child, 0)[1] == signal.SIGKILL


def stop_at(name: str, number: int, pipe: int) -> None:
    function, calls = getattr(postgres, name), []

    def stopped(*arguments: object, **more: object) -> object:
        calls.append(arguments)
        if len(calls) == number:
            os.write(pipe, b"!")
            time.sleep(60)
        return function(*arguments, **more)

    setattr(postgres, name, stopped)


def test_a_killed_backup_leaves_no_file_of_its_name_and_the_next_one_clears_up(program, tmp_path):
    file = tmp_path / "kept.tar"
    killed_at(
        "tables", 2, lambda: back_up(program.database, file)
    )  # it is written, and looked through
    assert not file.exists()
    assert len(program.beside()) == 1
    assert back_up(program.database, file).in_full
    assert program.beside() == []


@pytest.mark.parametrize(
    ("function", "number"),
    [("exchange", 1), ("_rename", 2)],
    ids=["before the exchange", "between its two names"],
)
def test_a_killed_restore_leaves_the_former_database(program, kept, function, number):
    before = program.tables()
    program.do("UPDATE athletes_user SET name = 'Later'")
    later = program.tables()
    killed_at(function, number, lambda: program.restored(kept))
    assert program.tables() == later
    former = program.restored(kept).former
    assert program.tables() == before
    assert program.beside() == [former]


def test_a_backup_that_is_told_to_end_takes_its_files_away(program, tmp_path):
    folder = tmp_path / "kept"
    folder.mkdir()
    process = program.start(STOPPED, "backup", folder / "kept.tar")
    assert process.stdout.readline() == "here\n"
    assert len([*folder.iterdir()]) == 1
    process.terminate()
    process.communicate(timeout=30)
    assert process.returncode == 128 + signal.SIGTERM
    assert [*folder.iterdir()] == []
    assert program.beside() == []
