"""Before a database with people is migrated, it is kept."""

import stat
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from program.operations.backup import before_migrating, configured
from program.operations.backup.before_migrating import (
    KEPT,
    back_up_before_migrating,
    delete_old,
)
from tests.program.operations.backup.conftest import Program


@pytest.fixture
def folder(tmp_path: Path, settings) -> Path:
    settings.BACKUPS_DIR = tmp_path / "data" / "backups"
    settings.BACKUPS_FOR = ""
    return settings.BACKUPS_DIR


def as_configured(monkeypatch: pytest.MonkeyPatch, program: Program) -> None:
    monkeypatch.setattr(configured, "database", lambda alias: program.database)


def test_an_older_database_is_kept_before_it_is_migrated_and_only_then(old, folder):
    environ = {"FLEDGE_BACKUPS_DIR": str(folder)}
    migrated = old.manage("migrate", **environ)
    assert migrated.returncode == 0, migrated.stderr
    (file,) = folder.iterdir()
    assert str(file) in migrated.stdout
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700

    children = old.ask("SELECT count(*) FROM athletes_child")
    assert old.restored(file).migrated > 0
    assert old.ask("SELECT count(*) FROM athletes_child") == children > 0


def test_with_nothing_to_apply_nothing_is_kept(program, folder, monkeypatch):
    as_configured(monkeypatch, program)
    monkeypatch.setattr(before_migrating, "_has_unapplied", lambda alias: False)
    assert back_up_before_migrating("default", goes_back=False) is None
    assert not folder.exists()
    assert back_up_before_migrating("default", goes_back=True) is not None


def test_a_database_without_people_pays_nothing(empty, folder, monkeypatch, django_db_blocker):
    as_configured(monkeypatch, empty)
    with django_db_blocker.unblock():
        assert back_up_before_migrating("default", goes_back=True) is None
    assert not folder.exists()


def test_what_cannot_be_kept_is_not_migrated(monkeypatch, program, folder):
    folder.parent.mkdir()
    folder.write_text("no folder")
    as_configured(monkeypatch, program)
    monkeypatch.setattr(before_migrating, "_has_unapplied", lambda alias: True)
    with pytest.raises(CommandError, match="Nothing was migrated; --without-backup"):
        call_command("migrate", verbosity=0)


def test_the_last_few_stay_with_everything_else_there_is(tmp_path):
    ours = [f"before-migrating-202601{day:02}T000000Z.tar" for day in range(1, 10)]
    others = ["nightly.tar", "before-migrating.tar", "before-migrating-20260101T000000Z.tar.part"]
    for name in ours + others:
        (tmp_path / name).touch()
    delete_old(tmp_path, tmp_path / ours[0])
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {ours[0], *ours[1 - KEPT :], *others}
