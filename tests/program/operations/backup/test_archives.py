"""What an archive must be to be taken, without a database."""

import io
import json
import tarfile
from contextlib import contextmanager
from pathlib import Path

import pytest

from program.operations.backup import archive, encryption, files, manifest
from program.operations.backup.archive import Writer
from program.operations.backup.errors import BackupError, Damaged
from program.operations.backup.manifest import Manifest, Table
from tests.program.operations.backup.archives import rewritten

NAME = "0" * 32 + ".jpg"
DUMP = b"what pg_dump wrote " * 1000


def written(**differently) -> bytes:
    file = io.BytesIO()
    writer = Writer(file, 0.0)
    writer.add_dump(io.BytesIO(DUMP))
    writer.add_upload(NAME, b"a picture")
    told = {
        "format": manifest.FORMAT,
        "made": "2026-01-01T00:00:00+00:00",
        "postgres": "18",
        "migrations": ["program.0001"],
        "tables": {"public.child": Table(1, "0")},
        "members": writer.members,
        "deleted_meanwhile": [],
        "lost": [],
    }
    writer.finish(Manifest(**{**told, **differently}))
    return file.getvalue()


def test_an_archive_is_read_as_it_was_written():
    content = written()
    told = archive.checked(io.BytesIO(content))
    dump, uploads = io.BytesIO(), {}
    archive.read(io.BytesIO(content), told, on_dump=dump.write, on_upload=uploads.__setitem__)
    assert dump.getvalue() == DUMP
    assert uploads == {NAME: b"a picture"}


def test_a_dump_is_kept_in_pieces_that_make_it_whole(monkeypatch):
    monkeypatch.setattr(archive, "PIECE", 1000)
    content = written()
    with tarfile.open(fileobj=io.BytesIO(content)) as tar:
        pieces = [each for each in tar.getmembers() if each.name.startswith("database/")]
        assert len(pieces) == 19
        assert b"".join(tar.extractfile(each).read() for each in pieces) == DUMP


@pytest.mark.parametrize("name", ["database/0001", f"uploads/{NAME}"])
def test_a_changed_member_is_refused(name):
    changed = rewritten(written(), lambda each, was: b"x" + was[1:] if each == name else was)
    with pytest.raises(Damaged, match=name):
        archive.checked(io.BytesIO(changed))


@pytest.mark.parametrize("name", ["database/0001", f"uploads/{NAME}"])
def test_a_missing_member_is_refused(name):
    changed = rewritten(written(), lambda each, was: None if each == name else was)
    with pytest.raises(Damaged, match=name):
        archive.checked(io.BytesIO(changed))


def test_an_archive_without_its_manifest_is_refused():
    changed = rewritten(written(), lambda each, was: None if each == "manifest.json" else was)
    with pytest.raises(Damaged, match="without its manifest"):
        archive.checked(io.BytesIO(changed))


@pytest.mark.parametrize("kept", [0, 300, 5_000, 20_600])
def test_an_archive_that_is_broken_off_is_refused(kept):
    with pytest.raises(Damaged):
        archive.checked(io.BytesIO(written()[:kept]))


def test_an_archive_of_another_format_says_that_a_newer_fledge_reads_it():
    with pytest.raises(BackupError, match="newer"):
        archive.checked(io.BytesIO(written(format=2)))


@pytest.mark.parametrize("said", [b"", b"[]", b"{}", json.dumps({"format": 1}).encode()])
def test_what_is_no_manifest_is_refused(said):
    with pytest.raises(Damaged):
        manifest.from_json(said)


def test_tables_that_differ_are_named():
    kept = {"a": Table(1, "x"), "b": Table(1, "x"), "c": Table(1, "x"), "e": Table(1, "x")}
    found = {"a": Table(2, "y"), "b": Table(1, "y"), "d": Table(1, "x"), "e": Table(1, "x")}
    assert manifest.differences(kept, found) == [
        "a has 2 rows instead of 1",
        "b holds something else",
        "c is missing",
        "d is one too many",
    ]


def encrypted(content: bytes, key) -> bytes:
    target = io.BytesIO()
    with encryption.encrypting(target, [key.to_public()]) as plain:
        plain.write(content)
    return target.getvalue()


@contextmanager
def opened(tmp_path: Path, content: bytes, keys):
    path = tmp_path / "archive"
    path.write_bytes(content)
    with encryption.opened(path, keys) as file:
        yield file


def test_an_encrypted_archive_is_read_with_its_key(tmp_path):
    key, another = encryption.new_key(), encryption.new_key()
    with opened(tmp_path, encrypted(written(), key), [another, key]) as file:
        assert archive.checked(file).migrations == ["program.0001"]


@pytest.mark.parametrize(
    "damage",
    [lambda content: content[:-1], lambda content: content[:-200] + b"x" + content[-199:]],
    ids=["broken off", "changed"],
)
def test_an_encrypted_archive_that_is_not_whole_is_refused(tmp_path, damage):
    key = encryption.new_key()
    content = damage(encrypted(written() + bytes(1_000_000), key))  # long after its end, too
    with pytest.raises(Damaged), opened(tmp_path, content, [key]) as file:
        archive.checked(file)


def test_what_fails_while_an_encrypted_archive_is_read_is_what_is_said(tmp_path):
    key = encryption.new_key()
    content = encrypted(bytes(1_000_000), key)
    with pytest.raises(ZeroDivisionError), opened(tmp_path, content, [key]) as file:
        file.read(1) and 1 / 0


def test_keys_are_read_from_the_file_that_holds_them(tmp_path):
    key = encryption.new_key()
    path = tmp_path / "key"
    path.write_text(f"# public key: {key.to_public()}\n{key}\n")
    assert [str(each) for each in encryption.secret_keys(path)] == [str(key)]


@pytest.mark.parametrize("text", ["", "age1nothing", "AGE-SECRET-KEY-1"])
def test_what_is_no_public_key_is_refused(text):
    with pytest.raises(BackupError, match="age1"):
        encryption.public_key(text)


@pytest.mark.parametrize("text", ["AGE-SECRET-KEY-1X", "", "something else"])
def test_a_file_without_a_secret_key_is_refused(tmp_path, text):
    path = tmp_path / "key"
    path.write_text(text)
    with pytest.raises(BackupError, match="no secret key"):
        encryption.secret_keys(path)


def test_a_file_that_came_meanwhile_is_not_written_over(tmp_path):
    path = tmp_path / "kept"
    with pytest.raises(BackupError, match="is there already"), files.new_file(path):
        path.write_bytes(b"another's")
    assert path.read_bytes() == b"another's"
    assert [*tmp_path.iterdir()] == [path]


def test_a_folder_that_is_not_there_is_said(tmp_path):
    with (
        pytest.raises(BackupError, match="cannot be written"),
        files.new_file(tmp_path / "missing" / "kept"),
    ):
        pass
