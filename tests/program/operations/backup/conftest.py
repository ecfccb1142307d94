"""A program of its own for every test: a copy of one that was filled once, with its uploads."""

import lzma
import os
import shutil
import subprocess
import sys
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest
from django.conf import settings as django_settings
from django.test import override_settings
from psycopg import sql

from program.config.database import from_url
from program.config.uploads import uploads_storage
from program.operations.backup import postgres
from program.operations.backup.configured import from_entry
from program.operations.backup.making import back_up
from program.operations.backup.manifest import Table
from program.operations.backup.postgres import Database
from program.operations.backup.restoring import Restored, restore

REPOSITORY = Path(__file__).resolve().parents[4]
LANDED = REPOSITORY / "tests" / "contracts" / "last_landed.sql.xz"
FILL = """
import django
django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
call_command("load_library", verbosity=0)
call_command("load_demo", athletes=4, weeks=2)

from django.core.files.base import ContentFile
from django.utils import timezone
from athletes.models import Child
from library.shared.uploads.keeping import uploads
from program.models import Question
from tests.support.pictures import photo

name = uploads().save("0" * 32 + ".jpg", ContentFile(photo()))
for upload in (name, ""):
    Question.objects.create(
        child=Child.objects.first(), text="Like this?", asked_at=timezone.now(), upload=upload
    )
"""


@dataclass(frozen=True)
class Program:
    """A database on the tests' server, by its owner, and the folder of its uploads."""

    database: Database
    uploads: Path

    @property
    def web(self) -> Database:
        return Database(self.database.name, {**self.database.parameters, "user": "fledge_web"}, "")

    def environ(self, **more: str) -> dict[str, str]:
        """For a process of its own, which talks to the database as the web role."""
        url = urlsplit(os.environ["DATABASE_URL"])._replace(path=f"/{self.database.name}")
        _, at, host = url.netloc.rpartition("@")
        return {
            **os.environ,
            "DATABASE_OWNER_URL": url.geturl(),
            "DATABASE_URL": url._replace(netloc=f"fledge_web{at}{host}").geturl(),
            "FLEDGE_UPLOADS_DIR": str(self.uploads),
            **more,
        }

    def manage(self, *arguments: object, **environ: str) -> subprocess.CompletedProcess[str]:
        return self.run("manage.py", *arguments, **environ)

    def run(self, *arguments: object, **environ: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, *map(str, arguments)],
            cwd=REPOSITORY,
            env=self.environ(**environ),
            capture_output=True,
            text=True,
        )

    def start(self, code: str, *arguments: object) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-c", code, *map(str, arguments)],
            cwd=REPOSITORY,
            env=self.environ(DJANGO_SETTINGS_MODULE="program.config.settings"),
            stdout=subprocess.PIPE,
            text=True,
        )

    def do(self, statement: str) -> None:
        with self.database.connect() as connection:
            connection.execute(statement)

    def ask(self, question: str):
        with self.database.connect() as connection:
            return connection.execute(question).fetchone()[0]

    def tables(self) -> dict[str, Table]:
        with self.database.connect() as connection:
            return postgres.tables(connection)

    def files(self) -> dict[str, bytes]:
        return {path.name: path.read_bytes() for path in self.uploads.iterdir()}

    def beside(self) -> list[str]:
        """The other databases whose names begin with this one's."""
        with self.database.connect() as connection:
            asked = "SELECT datname FROM pg_database WHERE datname LIKE %s || '\\__%%' ORDER BY 1"
            return [name for (name,) in connection.execute(asked, [self.database.name])]

    def restored(self, path: Path, keys=None, *, replace: bool = True) -> Restored:
        """In this process, where one role does both."""
        return restore(path, keys, self.database, self.database, replace=replace)


def storages_in(folder: Path) -> dict[str, object]:
    return {**django_settings.STORAGES, "uploads": uploads_storage({}, folder)}


def owners_database(name: str) -> Database:
    return from_entry(from_url(os.environ["DATABASE_URL"])).named(name)


def made_database(uploads: Path, template: str = "template0") -> Program:
    name = f"kept_{uuid.uuid4().hex[:8]}"
    with owners_database("postgres").connect() as connection:
        asked = sql.SQL("CREATE DATABASE {} TEMPLATE {} STRATEGY FILE_COPY")
        connection.execute(asked.format(sql.Identifier(name), sql.Identifier(template)))
    uploads.mkdir(exist_ok=True)
    return Program(owners_database(name), uploads)


def drop(program: Program) -> None:
    with owners_database("postgres").connect() as connection:
        for name in [*program.beside(), program.database.name]:
            postgres.drop(connection, name)


@pytest.fixture(scope="session", autouse=True)
def _needs_the_web_role() -> None:
    with owners_database("postgres").connect() as connection:
        if not connection.execute("SELECT FROM pg_roles WHERE rolname = 'fledge_web'").rowcount:
            pytest.skip("the given DATABASE_URL has no role fledge_web")


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """Nobody changes it: tests take copies."""
    program = made_database(tmp_path_factory.mktemp("filled") / "uploads")
    done = program.run("-c", FILL, DJANGO_SETTINGS_MODULE="program.config.settings")
    assert done.returncode == 0, done.stderr
    yield program
    drop(program)


@pytest.fixture(scope="session")
def kept(filled: Program, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What every `program` holds, in an archive."""
    file = tmp_path_factory.mktemp("kept") / "kept.tar"
    with override_settings(STORAGES=storages_in(filled.uploads)):
        back_up(filled.database, file)
    return file


@pytest.fixture
def program(
    filled: Program, tmp_path: Path, uploads_folder: Path, django_db_blocker
) -> Iterator[Program]:
    shutil.copytree(filled.uploads, uploads_folder, dirs_exist_ok=True)
    program = made_database(uploads_folder, template=filled.database.name)
    with django_db_blocker.unblock():
        yield program
    drop(program)


@pytest.fixture
def uploads_folder(tmp_path: Path, settings) -> Path:
    """Where this process keeps uploads, too."""
    settings.STORAGES = storages_in(tmp_path / "uploads")
    return tmp_path / "uploads"


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Program]:
    program = made_database(tmp_path / "empty")
    yield program
    drop(program)


@pytest.fixture
def old(tmp_path: Path, uploads_folder: Path, django_db_blocker) -> Iterator[Program]:
    """As an earlier Fledge left it; see `tests/contracts/test_upgrade_from_last_landed.py`."""
    program = made_database(uploads_folder)
    with psycopg.connect(program.database.conninfo) as connection:
        connection.execute(lzma.decompress(LANDED.read_bytes()))
    with django_db_blocker.unblock():
        yield program
    drop(program)
