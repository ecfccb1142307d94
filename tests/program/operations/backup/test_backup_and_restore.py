"""What is kept comes back, whole or not at all, and what was there stays until then."""

import json
import resource
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from django.apps import apps
from django.db.models import CharField

from library.shared.uploads.keeping import upload_field
from program.management.commands.backup import what_is_missing
from program.operations.backup import encryption, making, postgres, uploads
from program.operations.backup.archive import MANIFEST
from program.operations.backup.errors import BackupError
from program.operations.backup.making import back_up
from program.operations.backup.restoring import drop_former, restore
from tests.program.operations.backup.archives import rewritten
from tests.program.operations.backup.conftest import Program


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "kept.tar"


def test_everything_comes_back_into_a_bare_database_and_the_web_role_can_work_there(
    program: Program, empty: Program, file: Path
):
    made = program.manage("backup", file)
    assert made.returncode == 0, made.stderr
    assert "every table was the same" in made.stdout
    assert "UNENCRYPTED" in made.stdout
    assert program.beside() == []

    restored = empty.manage("restore", file)
    assert restored.returncode == 0, restored.stderr
    assert empty.tables() == program.tables()
    assert sum(table.rows for table in empty.tables().values()) > 1000
    assert empty.files() == program.files() != {}
    assert {stat.S_IMODE(path.stat().st_mode) for path in empty.uploads.iterdir()} == {0o600}
    assert empty.beside() == []

    with empty.web.connect() as web:
        assert web.execute("UPDATE athletes_user SET name = name").rowcount > 0
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            web.execute("DROP TABLE athletes_user")


def test_a_backup_is_for_its_owner_alone_and_leaves_nothing_beside_it(program, file):
    back_up(program.database, file)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert [path.name for path in file.parent.iterdir() if path.is_file()] == [file.name]


def test_a_backup_writes_over_nothing(program, file):
    file.write_text("something else")
    with pytest.raises(BackupError, match="is there already"):
        back_up(program.database, file)
    assert file.read_text() == "something else"


def meanwhile(monkeypatch: pytest.MonkeyPatch, happens) -> None:
    """Something happens after the backup's moment, before its dump."""
    dumping = postgres.dumping

    @contextmanager
    def later(*arguments):
        happens()
        with dumping(*arguments) as dump:
            yield dump

    monkeypatch.setattr(making.postgres, "dumping", later)


def test_what_is_written_while_a_backup_runs_is_not_in_it(program, file, monkeypatch):
    before = program.tables()
    meanwhile(monkeypatch, lambda: program.do("UPDATE athletes_user SET name = 'Later'"))
    made = back_up(program.database, file)
    assert made.in_full
    assert made.manifest.tables == before != program.tables()


def test_an_upload_deleted_while_a_backup_runs_is_told_apart_from_a_lost_one(
    program, file, monkeypatch
):
    (name,) = program.files()

    def delete() -> None:
        program.do("DELETE FROM program_question WHERE upload <> ''")
        (program.uploads / name).unlink()

    meanwhile(monkeypatch, delete)
    made = back_up(program.database, file)
    assert (made.manifest.deleted_meanwhile, made.manifest.lost) == ([name], [])


def test_a_backup_whose_database_is_cut_off_keeps_nothing(program, file, monkeypatch):
    def cut() -> None:
        with program.database.connect() as connection:
            connection.execute(postgres.END_SESSIONS, [program.database.name])

    meanwhile(monkeypatch, cut)
    with pytest.raises(BackupError):
        back_up(program.database, file)
    assert [path for path in file.parent.iterdir() if path.is_file()] == []


def test_a_lost_upload_is_said_and_what_is_left_is_kept(program, file):
    (name,) = program.files()
    (program.uploads / name).unlink()
    (said,) = what_is_missing(back_up(program.database, file))
    assert "1 uploads are LOST" in said
    assert name not in said
    assert program.restored(file).manifest.lost == [name]


def test_the_database_finds_every_column_that_names_an_upload(program):
    fields = {
        f"{model._meta.db_table}.{field.column}"
        for model in apps.get_models()
        for field in model._meta.get_fields()
        if isinstance(field, CharField) and _like(field) == _like(upload_field())
    }
    with program.database.connect() as connection:
        found = connection.execute(postgres.NAMED_UPLOADS, [uploads.PATTERN]).fetchall()
    assert {f"{table}.{column}" for table, column in found} == fields
    assert len(fields) >= 2


def _like(field: CharField) -> tuple:
    return field.max_length, field.blank, field.default, field.editable


def test_an_encrypted_backup_is_read_with_its_key_and_no_other(program, file):
    key = encryption.new_key()
    before = program.tables()
    assert back_up(program.database, file, str(key.to_public())).in_full
    assert not any(content in file.read_bytes() for content in program.files().values())
    program.do("DELETE FROM athletes_signin; UPDATE athletes_user SET name = 'Later'")
    for keys, reason in ((None, "is encrypted"), ([encryption.new_key()], "another key")):
        with pytest.raises(BackupError, match=reason):
            program.restored(file, keys)
    assert program.beside() == []
    program.restored(file, [key])
    assert program.tables() == before


def test_people_are_replaced_only_when_asked_and_kept_under_another_name(program, kept):
    before = program.tables()
    program.do("UPDATE athletes_user SET name = 'Later'")
    later = program.tables()
    with pytest.raises(BackupError, match="--replace"):
        program.restored(kept, replace=False)
    assert program.tables() == later

    former = program.restored(kept).former
    assert program.tables() == before
    assert program.beside() == [former]
    with program.database.named(former).connect() as connection:
        assert postgres.tables(connection) == later


def test_a_database_of_another_program_is_not_taken_for_a_bare_one(empty, kept, django_db_blocker):
    empty.do("CREATE TABLE another ()")
    with django_db_blocker.unblock(), pytest.raises(BackupError, match="not Fledge’s"):
        empty.restored(kept, replace=False)
    assert empty.tables().keys() == {"public.another"}


@pytest.mark.parametrize(
    "locale", ["libc LC_COLLATE 'C' LC_CTYPE 'C'", "builtin BUILTIN_LOCALE 'C.UTF-8'"]
)
def test_the_database_beside_is_made_alike(empty, locale):
    alike = "SELECT encoding, datcollate, datctype, datlocprovider, datlocale FROM pg_database "
    alike += "WHERE datname = current_database()"
    other = empty.database.named(f"{empty.database.name}__alike")
    empty.do(f'CREATE DATABASE "{other.name}" TEMPLATE template0 LOCALE_PROVIDER {locale}')
    with postgres.scratch(other) as scratch, scratch.connect() as new, other.connect() as old:
        assert new.execute(alike).fetchone() == old.execute(alike).fetchone()


def test_what_was_set_aside_is_deleted_with_the_uploads_it_alone_named(program, kept):
    (shared,) = program.files()
    alone = "f" * 32 + ".jpg"
    (program.uploads / alone).write_bytes(b"")
    program.do(
        "UPDATE program_question SET upload = '" + alone + "' WHERE id = "
        "(SELECT min(id) FROM program_question WHERE upload = '')"
    )
    former = program.restored(kept).former
    for name in (program.database.name, "postgres"):
        with pytest.raises(BackupError, match="no database that a restore has set aside"):
            drop_former(name, program.database)
    assert drop_former(former, program.database) == 1
    assert program.files().keys() == {shared}
    assert program.beside() == []


def test_open_sessions_are_ended_when_a_database_takes_the_place_of_another(program, kept):
    with program.database.connect() as owner, program.web.connect() as web:
        web.execute("BEGIN; SELECT FROM athletes_user")
        postgres_users = [program.database, program.web]
        with postgres.scratch(program.database) as new:
            postgres.exchange(
                program.database, new, f"{program.database.name}_before_", postgres_users
            )
        for session in (owner, web):
            with pytest.raises(psycopg.OperationalError):
                session.execute("SELECT 1")
    assert program.tables() == {}


def test_missing_and_damaged_uploads_are_put_in_place(program, kept):
    files = program.files()
    (name,) = files
    (program.uploads / name).unlink()
    assert program.restored(kept).uploads_put == 1
    (program.uploads / name).write_bytes(b"damaged")
    assert program.restored(kept).uploads_put == 1
    assert program.files() == files


def test_an_archive_of_an_older_fledge_is_brought_up_to_date(old, program, file):
    back_up(old.database, file)
    children = old.ask("SELECT count(*) FROM athletes_child")
    restored = old.restored(file)
    assert restored.migrated > 0
    assert old.tables().keys() == program.tables().keys()
    assert old.ask("SELECT count(*) FROM athletes_child") == children > 0


def test_where_no_database_can_be_made_a_backup_says_that_it_was_only_read(program, file):
    poor = f"poor_{program.database.name}"
    superuser = made_by(program.database, "postgres")
    with superuser.connect() as connection:
        connection.execute(f"CREATE ROLE {poor} LOGIN IN ROLE fledge_owner")
    try:
        made = back_up(made_by(program.database, poor), file)
        assert not made.in_full
        with pytest.raises(BackupError, match="CREATEDB"):
            restore(file, None, *[made_by(program.database, poor)] * 2, replace=True)
    finally:
        with superuser.connect() as connection:
            connection.execute(f"DROP ROLE {poor}")


def made_by(database: postgres.Database, role: str) -> postgres.Database:
    return postgres.Database(database.name, {**database.parameters, "user": role}, "")


def of_a_newer_fledge(name: str, content: bytes) -> bytes:
    return content.replace(b'"migrations": [', b'"migrations": ["program.9999_later", ', 1)


def with_another_table(name: str, content: bytes) -> bytes:
    told = json.loads(content) if name == MANIFEST else {}
    if told:
        told["tables"]["public.athletes_child"]["rows"] += 1
    return json.dumps(told).encode() if told else content


def without_its_upload(name: str, content: bytes) -> bytes | None:
    if name.startswith("uploads/"):
        return None
    told = json.loads(content) if name == MANIFEST else {}
    if told:
        told["members"] = {
            each: member
            for each, member in told["members"].items()
            if not each.startswith("uploads/")
        }
    return json.dumps(told).encode() if told else content


def with_another_dump(name: str, content: bytes) -> bytes:
    return content[:-1000] + bytes(1000) if name == "database/0001" else content


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (of_a_newer_fledge, "newer Fledge.*program.9999_later"),
        (with_another_table, "public.athletes_child has .* rows instead of"),
        (without_its_upload, "1 uploads that the archive’s rows name are not in it"),
        (with_another_dump, "database/0001 in the archive is not what its manifest says"),
    ],
)
def test_an_archive_that_is_not_as_it_should_be_replaces_nothing(
    program, kept, file, change, reason
):
    file.write_bytes(rewritten(kept.read_bytes(), change))
    program.do("UPDATE athletes_user SET name = 'Later'")
    (program.uploads / ("0" * 32 + ".jpg")).unlink()
    before = program.tables()
    with pytest.raises(BackupError, match=reason):
        program.restored(file)
    assert program.tables() == before
    assert program.files() == {}
    assert program.beside() == []


@contextmanager
def files_no_longer_than(size: int) -> Iterator[None]:
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("is_encrypted", [False, True])
def test_without_room_a_backup_says_so_and_keeps_nothing(program, file, is_encrypted):
    key = str(encryption.new_key().to_public()) if is_encrypted else ""
    with files_no_longer_than(100_000), pytest.raises(BackupError, match="no room left"):
        back_up(program.database, file, key)
    assert [path for path in file.parent.iterdir() if path.is_file()] == []
    assert program.beside() == []
