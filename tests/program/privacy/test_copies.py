"""A copy of everything about one child: who gets it, and that it is fetched once."""

import datetime as dt
import io
import zipfile
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from athletes.models import Child, Guardianship, User
from library.shared.uploads.keeping import uploads
from program.models import ChildCopy
from program.privacy import copies
from program.privacy.copies import FOLDER, make_copy
from program.privacy.retention import let_go

pytestmark = pytest.mark.django_db


def unzipped(content):
    packed = zipfile.ZipFile(io.BytesIO(content))
    return {name: packed.read(name) for name in packed.namelist()}


def files():
    """The names of the copies that are kept."""
    try:
        return [f"{FOLDER}/{name}" for name in uploads().listdir(FOLDER)[1]]
    except FileNotFoundError:
        return []


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    storage = {"BACKEND": "django.core.files.storage.FileSystemStorage"}
    here = storage | {"OPTIONS": {"location": tmp_path}}
    settings.STORAGES = settings.STORAGES | {"uploads": here}


def ready(cast):
    """A copy that the guardian asked for, made."""
    copy = ChildCopy.objects.create(
        child=cast.child, asked_by=cast.guardian, asked_at=timezone.now()
    )
    make_copy.func(copy.pk, "https://club.example")
    return copy


def ask(client, child):
    return client.post(reverse("program:ask_for_copy", args=[child.public_id]))


def fetch(client, child, copy):
    address = reverse("program:fetch_copy", args=[child.public_id, copy.public_id])
    return client.post(address)


def test_a_guardian_asks_is_mailed_when_it_is_ready_and_fetches_it_once(
    cast, client_for, mailoutbox, django_capture_on_commit_callbacks
):
    parent = client_for(cast.guardian)
    with django_capture_on_commit_callbacks(execute=True):
        ask(parent, cast.child)
    copy = ChildCopy.objects.get()
    assert copy.ready_at
    (mail,) = mailoutbox
    assert mail.to == [cast.guardian.email]
    assert cast.child.given_name not in mail.subject
    (name,) = files()
    with uploads().open(name) as file:
        assert not zipfile.is_zipfile(io.BytesIO(file.read())), "sealed"
    with django_capture_on_commit_callbacks(execute=True):
        first, second = fetch(parent, cast.child, copy), fetch(parent, cast.child, copy)
    assert first.headers["Content-Type"] == "application/zip"
    assert first.headers["Cache-Control"] == "private, no-store"
    assert "read-me-first.html" in unzipped(first.content)
    assert second.status_code == 302
    assert files() == [], "what is fetched is not kept"


def test_nobody_fetches_what_another_asked_for(
    cast, client_for, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        ask(client_for(cast.guardian), cast.child)
    copy = ChildCopy.objects.get()
    for person in (cast.head_coach, cast.coach, cast.other_guardian, cast.athlete):
        assert fetch(client_for(person), cast.child, copy).status_code == 404, person


def test_who_was_removed_meanwhile_gets_none(cast, client_for, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks() as callbacks:
        ask(client_for(cast.guardian), cast.child)
        Guardianship.objects.filter(guardian=cast.guardian).delete()
    for each in callbacks:
        each()
    assert not ChildCopy.objects.exists() or ChildCopy.objects.get().ready_at is None


def test_a_copy_that_nobody_fetched_in_a_week_is_over(cast):
    now = timezone.now()
    copy = ChildCopy.objects.create(
        child=cast.child, asked_by=cast.guardian, asked_at=now, ready_at=now
    )
    assert copy in ChildCopy.objects.to_fetch(now)
    assert copy not in ChildCopy.objects.over(now)
    assert copy in ChildCopy.objects.over(now + dt.timedelta(days=7))
    assert copy not in ChildCopy.objects.to_fetch(now + dt.timedelta(days=7))


def test_the_file_goes_with_its_days_with_the_child_and_with_whoever_asked(
    cast, django_capture_on_commit_callbacks
):
    for end in (
        lambda: let_go(timezone.now() + dt.timedelta(days=8)),
        User.objects.filter(pk=cast.guardian.pk).delete,
        Child.objects.filter(pk=cast.child.pk).delete,
    ):
        with transaction.atomic():
            ready(cast)
            assert len(files()) == 1
            with django_capture_on_commit_callbacks(execute=True):
                end()
            assert files() == []
            transaction.set_rollback(True)


def test_a_worker_that_was_killed_leaves_no_file_that_the_night_does_not_find(cast, monkeypatch):
    copy = ChildCopy.objects.create(
        child=cast.child, asked_by=cast.guardian, asked_at=timezone.now()
    )
    monkeypatch.setattr(copies, "_tell", killed)
    with pytest.raises(Killed), transaction.atomic():
        make_copy.func(copy.pk, "https://club.example")
    assert len(files()) == 1
    monkeypatch.undo()
    let_go(timezone.now())
    assert len(files()) == 1, "it is about to be made again"
    make_copy.func(copy.pk, "https://club.example")
    assert len(files()) == 1, "under the same name"
    ChildCopy.objects.all()._raw_delete(using="default")
    said = StringIO()
    call_command("retention", stdout=said)
    assert "1  files of copies that nobody waits for" in said.getvalue()
    let_go(timezone.now())
    assert files() == []


class Killed(BaseException):
    pass


def killed(*args):
    raise Killed


def test_a_copy_whose_file_is_gone_is_over(cast, client_for):
    """As after a restore: backups hold no copies."""
    copy = ready(cast)
    uploads().delete(files()[0])
    answer = fetch(client_for(cast.guardian), cast.child, copy)
    assert answer.status_code == 302
    copy.refresh_from_db()
    assert copy.fetched_at, "so that another may be asked for"
