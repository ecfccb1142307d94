"""`manage.py doctor` says what is wrong with an installation, and how to mend it."""

import datetime as dt
import io
import os
import socket
import subprocess
import sys
import threading

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from program.operations.checks import configuration, database, machine
from program.operations.checks.result import Level
from program.operations.migrations import _Known
from tests.program.config.test_safe_from_the_start import A_SECRET


@pytest.fixture
def club(settings):
    """Served to others, not on this machine only."""
    settings.ON_THIS_MACHINE_ONLY = settings.PRINTS_MAILS = False
    settings.SECRET_KEY = A_SECRET
    return settings


# Of another age


FIRST, SECOND, SQUASHED = ("program", "0001"), ("program", "0002"), ("program", "0001_squashed")
OTHER = ("gone", "0001")


@pytest.mark.parametrize(
    ("applied", "unapplied", "unknown"),
    [
        ({SQUASHED, SECOND}, [], []),
        ({FIRST, SQUASHED, SECOND}, [], []),  # migrated before they were squashed
        ({FIRST, SECOND}, [], []),
        ({SQUASHED, FIRST}, [SECOND], []),
        (set(), [SQUASHED, SECOND], []),
        ({SQUASHED, SECOND, ("program", "0003")}, [], [("program", "0003")]),
        ({SQUASHED, SECOND, OTHER}, [], []),  # an app that is no longer installed
    ],
)
def test_what_is_applied_and_what_is_known_are_compared(applied, unapplied, unknown):
    known = _Known({SQUASHED: frozenset({FIRST}), SECOND: frozenset()})
    assert known.unapplied(frozenset(applied)) == unapplied
    assert known.unknown(frozenset(applied)) == unknown


@pytest.mark.django_db
def test_one_role_alone_is_to_be_looked_at():
    assert "owner" not in settings.DATABASES
    assert database.web_role.run().level == Level.LOOK


@pytest.mark.django_db
def test_a_pooler_that_drops_what_a_connection_is_opened_with_is_found():
    assert not database.row_security.run().is_wrong
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config('fledge.sees_all', '', true)")
    result = database.row_security.run()
    assert result.is_wrong
    assert "no child would be found" in result.says


@pytest.mark.django_db
def test_migrations_that_wait_are_named_with_what_to_run(monkeypatch):
    monkeypatch.setattr(
        "program.operations.migrations._known",
        lambda: _Known({("waiting", "0099_more"): frozenset()}),
    )
    result = database.migrations.run()
    assert result.is_wrong
    assert "waiting.0099_more" in result.says
    assert "manage.py migrate" in result.mend


# What the environment says


@pytest.mark.parametrize(
    ("check", "name", "value", "level"),
    [
        (configuration.secret_key, "SECRET_KEY", "short", Level.WRONG),
        (configuration.secret_key, "SECRET_KEY", "a" * 60, Level.WRONG),
        (configuration.secret_key, "SECRET_KEY", A_SECRET, Level.WELL),
        (configuration.hosts, "ALLOWED_HOSTS", ["https://club.example"], Level.WRONG),
        (configuration.hosts, "ALLOWED_HOSTS", ["a.example b.example"], Level.WRONG),
        (configuration.hosts, "ALLOWED_HOSTS", ["*"], Level.LOOK),
        (configuration.hosts, "ALLOWED_HOSTS", ["localhost"], Level.WRONG),
        (configuration.hosts, "ALLOWED_HOSTS", ["club.example"], Level.WELL),
        (configuration.proxies, "TRUSTED_PROXIES", (), Level.LOOK),
        (configuration.operator, "OPERATOR_MAIL", "", Level.LOOK),
        (configuration.mail_sender, "DEFAULT_FROM_EMAIL", "F <f@localhost>", Level.WRONG),
        (configuration.mail_sender, "DEFAULT_FROM_EMAIL", "F <f@club.example>", Level.WELL),
    ],
)
def test_odd_settings_are_said(club, check, name, value, level):
    setattr(club, name, value)
    result = check.run()
    assert result.level == level
    assert (result.mend == "") is (level == Level.WELL)
    assert A_SECRET not in result.says


# What is around it


def test_a_folder_that_cannot_be_written_is_wrong(monkeypatch):
    assert machine.uploads.run().level == Level.WELL

    def full(*args, **kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("django.core.files.storage.FileSystemStorage.save", full)
    result = machine.uploads.run()
    assert result.is_wrong
    assert "No space left on device" in result.says


@pytest.mark.parametrize(
    ("free", "level"), [(100, Level.WRONG), (1000, Level.LOOK), (5000, Level.WELL)]
)
def test_a_disk_is_called_full_before_it_is(monkeypatch, free, level):
    monkeypatch.setattr(machine, "_free", lambda place: free * machine.MEGABYTE)
    assert machine.disk.run().level == level


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("now", "says"),
    [
        (lambda right: dt.datetime(1970, 1, 1, tzinfo=dt.UTC), "1970 here"),
        (lambda right: right + dt.timedelta(minutes=3), "seconds apart"),
    ],
)
def test_a_clock_that_is_wrong_is_said(monkeypatch, now, says):
    assert database.clock.run().level == Level.WELL
    wrong = now(timezone.now())
    monkeypatch.setattr("django.utils.timezone.now", lambda: wrong)
    result = database.clock.run()
    assert result.is_wrong
    assert says in result.says


def mailed_by(port: int, settings) -> None:
    settings.MAILERS = {
        "default": {
            "BACKEND": "django.core.mail.backends.smtp.EmailBackend",
            "OPTIONS": {"host": "127.0.0.1", "port": port, "timeout": 2},
        }
    }


def test_a_mail_server_that_is_there_is_well_and_one_that_is_not_is_wrong(club):
    with socket.create_server(("127.0.0.1", 0)) as door:
        mailed_by(door.getsockname()[1], club)

        def greet() -> None:
            line, _ = door.accept()
            with line:
                for said in (b"220 mail\r\n", b"250 mail\r\n", b"221 bye\r\n"):
                    line.sendall(said)
                    line.recv(1000)

        server = threading.Thread(target=greet)
        server.start()
        assert machine.mail_server.run().level == Level.WELL
        server.join(10)
    assert machine.mail_server.run().is_wrong


@pytest.mark.django_db
def test_a_mail_is_sent_where_it_is_asked_for(mailoutbox, monkeypatch):
    monkeypatch.setattr("program.management.commands.doctor.CHECKS", [])
    said = io.StringIO()
    call_command("doctor", mail_to="me@club.example", stdout=said)
    assert mailoutbox[0].to == ["me@club.example"]
    assert said.getvalue().startswith("well   mail sent: to me@club.example")


@pytest.mark.django_db
def test_whatever_is_wrong_makes_the_command_fail(monkeypatch):
    monkeypatch.setattr("program.operations.checks.machine._free", lambda place: 0)
    with pytest.raises(CommandError, match=r"^\d of \d+ are wrong"):
        call_command("doctor", stdout=io.StringIO())


def test_a_command_without_a_database_says_how_to_start_one(tmp_path):
    kept = {k: v for k, v in os.environ.items() if not k.startswith("DATABASE_")}
    ended = subprocess.run(
        [sys.executable, "manage.py", "migrate"],
        cwd=settings.BASE_DIR,
        env={**kept, "FLEDGE_DATA_DIR": str(tmp_path / "none")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 1
    assert "or `manage.py database start`" in ended.stderr
    assert "Traceback" not in ended.stderr
