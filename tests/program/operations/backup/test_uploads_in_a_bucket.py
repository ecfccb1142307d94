"""Uploads in an object storage instead of a folder: a local server speaks S3 as moto knows it."""

import builtins
import stat
import urllib.error
import urllib.request
from collections.abc import Iterator
from types import SimpleNamespace

import boto3
import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.files.base import ContentFile
from django.http import Http404
from django.test import RequestFactory
from moto.server import ThreadedMotoServer

from library.shared.uploads import Kind, Upload
from library.shared.uploads.keeping import answer_with, kept, uploads
from program.config.uploads import uploads_storage
from program.operations.backup.making import back_up

BUCKET = "uploads"
NAME = "0" * 32 + ".jpg"


@pytest.fixture(scope="module")
def server() -> Iterator[SimpleNamespace]:
    server = ThreadedMotoServer("127.0.0.1", 0, verbose=False)
    server.start()
    host = ":".join(map(str, server.get_host_and_port()))
    keys = {"aws_access_key_id": "key", "aws_secret_access_key": "secret"}
    address = f"http://{host}"
    client = boto3.client("s3", endpoint_url=address, region_name="eu-west-2", **keys)
    yield SimpleNamespace(host=host, address=address, client=client)
    server.stop()


@pytest.fixture
def bucket(server: SimpleNamespace, settings, tmp_path) -> Iterator[SimpleNamespace]:
    """The only place uploads are kept."""
    place = {"LocationConstraint": "eu-west-2"}
    server.client.create_bucket(Bucket=BUCKET, CreateBucketConfiguration=place)
    told = {
        "UPLOADS_BUCKET": BUCKET,
        "UPLOADS_ENDPOINT": server.address,
        "UPLOADS_REGION": "eu-west-2",
        "UPLOADS_ACCESS_KEY": "key",
        "UPLOADS_SECRET_KEY": "secret",
    }
    settings.STORAGES = {**settings.STORAGES, "uploads": uploads_storage(told, tmp_path / "none")}
    yield SimpleNamespace(names=lambda: names_in(server.client), host=server.host)
    for name in names_in(server.client):
        server.client.delete_object(Bucket=BUCKET, Key=name)
    server.client.delete_bucket(Bucket=BUCKET)


def names_in(client) -> list[str]:
    return [each["Key"] for each in client.list_objects_v2(Bucket=BUCKET).get("Contents", [])]


def test_an_upload_is_kept_handed_out_and_deleted(bucket):
    upload = Upload(Kind.PHOTO, b"a picture", 1, 1)
    with kept(upload) as name:
        assert bucket.names() == [name]
    answer = answer_with(RequestFactory().get("/"), name, of_a_child=True)
    assert answer.content == b"a picture"
    assert answer.headers["Cache-Control"] == "private, no-store"
    part = RequestFactory().get("/", headers={"Range": "bytes=2-3"})
    assert answer_with(part, name, of_a_child=True).content == b"pi"
    uploads().delete(name)
    assert bucket.names() == []
    with pytest.raises(Http404):
        answer_with(RequestFactory().get("/"), name, of_a_child=True)


def test_an_upload_goes_with_a_row_that_is_not_written(bucket):
    with pytest.raises(ZeroDivisionError), kept(Upload(Kind.PHOTO, b"a picture", 1, 1)):
        raise ZeroDivisionError
    assert bucket.names() == []


def test_no_stranger_reads_what_an_answer_would_have_to_name(bucket):
    """What is put there is nobody’s but the bucket’s own: no rule that opens it is sent along."""
    uploads().save(NAME, ContentFile(b"a picture"))
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(f"http://{bucket.host}/{BUCKET}/{NAME}")


def test_a_backup_takes_uploads_out_of_the_bucket_and_puts_them_back(program, bucket, tmp_path):
    (content,) = program.files().values()
    uploads().save(NAME, ContentFile(content))
    file = tmp_path / "kept.tar"
    made = back_up(program.database, file)
    assert f"uploads/{NAME}" in made.manifest.members
    assert made.manifest.lost == []

    uploads().delete(NAME)
    assert program.restored(file).uploads_put == 1
    with uploads().open(NAME) as put:
        assert put.read() == content
    uploads().delete(NAME)
    uploads().save(NAME, ContentFile(b"damaged"))
    assert program.restored(file).uploads_put == 1
    with uploads().open(NAME) as put:
        assert put.read() == content


def test_an_upload_that_is_not_in_the_bucket_is_lost(program, bucket, tmp_path):
    assert back_up(program.database, tmp_path / "kept.tar").manifest.lost == [NAME]


def test_without_a_bucket_uploads_are_kept_in_the_folder_for_its_owner_alone(tmp_path):
    told = uploads_storage({}, tmp_path)
    assert told["OPTIONS"]["location"] == tmp_path
    assert told["OPTIONS"]["file_permissions_mode"] == stat.S_IRUSR | stat.S_IWUSR


def test_a_bucket_without_what_reaches_it_says_what_to_install(monkeypatch, tmp_path):
    importing = builtins.__import__

    def without_botocore(name: str, *arguments):
        if name.startswith("botocore"):
            raise ImportError
        return importing(name, *arguments)

    monkeypatch.setattr(builtins, "__import__", without_botocore)
    with pytest.raises(ImproperlyConfigured, match="--extra object-storage"):
        uploads_storage({"UPLOADS_BUCKET": BUCKET}, tmp_path)
