"""Ctrl-C in the first seconds: Python still importing, Postgres being made, the library loading."""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.program.config.embedded_postgres.ground import end_servers_under, made_folder
from tests.program.demo.test_demo_command import (
    REPOSITORY,
    SETTINGS_OF_THE_TEST_RUN,
    spare_port,
    wait_until,
)

CTRL_C = 128 + signal.SIGINT


@pytest.fixture
def data_dir() -> Iterator[Path]:
    ground = made_folder(in_memory=True)
    yield ground / "data"
    end_servers_under(ground)
    shutil.rmtree(ground)


def demo(data_dir: Path, *options: str) -> subprocess.Popen[str]:
    environ = {k: v for k, v in os.environ.items() if k not in SETTINGS_OF_THE_TEST_RUN}
    return subprocess.Popen(
        [sys.executable, *options, "manage.py", "demo", "--port", str(spare_port())],
        cwd=REPOSITORY,
        env=environ | {"FLEDGE_DATA_DIR": str(data_dir)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


@pytest.mark.parametrize(
    "module", ["django.core", "django.core.management", "psycopg", "athletes.models.users"]
)
def test_while_python_reads_the_programs(data_dir, module):
    starting = demo(data_dir, "-X", "importtime")
    for line in starting.stderr:
        if line.split("|")[-1].strip() == module:
            break
    starting.send_signal(signal.SIGINT)
    _, errors = starting.communicate(timeout=30)
    assert [line for line in errors.splitlines() if not line.startswith("import time:")] == []
    assert starting.returncode == CTRL_C


@pytest.mark.parametrize("made", ["postgres.half-made", "postgres"])
def test_while_postgres_is_made(data_dir, made):
    starting = demo(data_dir)
    wait_until((data_dir / made).exists)
    starting.send_signal(signal.SIGINT)
    assert starting.communicate(timeout=30) == ("", "")
    assert starting.returncode == CTRL_C


def test_while_the_invented_program_is_written(data_dir):
    starting = demo(data_dir)
    assert "exercises" in "".join(starting.stdout.readline() for _ in range(3))
    starting.send_signal(signal.SIGINT)
    _, errors = starting.communicate(timeout=30)
    assert (errors, starting.returncode) == ("", CTRL_C)
    assert not (data_dir / "postgres" / "postmaster.pid").exists()
