"""What the commands say and do beside what they are for."""

import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from athletes.session_store import sign_everybody_out
from program.operations.backup import configured, encryption
from program.operations.backup.signals import database_restored
from program.publish.closing import on_database_restored
from tests.program.operations.backup.conftest import Program

FOLLOWS = {
    "check_the_invariant": on_database_restored,
    "sign_everybody_out": sign_everybody_out,
}


@pytest.fixture(autouse=True)
def _configured(program: Program, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """In this process, whose own database is another one, nothing is to look at that one."""
    monkeypatch.setattr(configured, "database", lambda alias: program.database)
    for uid in FOLLOWS:
        database_restored.disconnect(dispatch_uid=uid)
    yield
    for uid, receiver in FOLLOWS.items():
        database_restored.connect(receiver, dispatch_uid=uid)


def test_who_wants_to_know_is_told_of_a_restore_when_all_is_in_place(program, kept, capsys):
    told = []

    def receiver(path: Path, **signal: object) -> None:
        told.append((path, program.ask("SELECT count(*) FROM athletes_user WHERE name = 'Later'")))

    program.do("UPDATE athletes_user SET name = 'Later'")
    database_restored.connect(receiver)
    try:
        call_command("restore", kept, replace=True)
    finally:
        database_restored.disconnect(receiver)
    assert told == [(kept, 0)]

    (former,) = program.beside()
    assert former in capsys.readouterr().out
    call_command("drop_former", former)
    assert program.beside() == []


def test_a_restore_says_when_what_follows_it_failed(program, kept):
    def receiver(**signal: object) -> None:
        raise ZeroDivisionError

    database_restored.connect(receiver)
    try:
        with pytest.raises(CommandError, match=r"All is restored, but .*: ZeroDivisionError"):
            call_command("restore", kept, replace=True)
    finally:
        database_restored.disconnect(receiver)


def test_a_made_key_is_for_its_owner_alone_and_fits_what_was_encrypted_for_it(
    program, tmp_path, capsys
):
    secret, file = tmp_path / "key", tmp_path / "kept.tar.age"
    call_command("backup_key", secret)
    assert stat.S_IMODE(secret.stat().st_mode) == 0o600
    public = capsys.readouterr().out.strip()
    call_command("backup", file, public_key=public)
    assert "UNENCRYPTED" not in capsys.readouterr().out
    call_command("restore", file, key=secret, replace=True)
    with pytest.raises(CommandError, match="cannot be made"):
        call_command("backup_key", secret)
    assert encryption.secret_keys(secret)


def test_backups_are_encrypted_for_the_key_in_the_settings(program, tmp_path, settings):
    settings.BACKUPS_FOR = str(encryption.new_key().to_public())
    file = tmp_path / "kept.tar.age"
    call_command("backup", file, verbosity=0)
    with file.open("rb") as opened:
        assert encryption.is_encrypted(opened)


def test_a_refused_backup_is_an_error_of_the_command(program, tmp_path):
    (tmp_path / "kept.tar").touch()
    with pytest.raises(CommandError, match="is there already"):
        call_command("backup", tmp_path / "kept.tar")
