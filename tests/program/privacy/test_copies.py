"""A copy of everything about one child: who gets it, and that it is fetched once."""

import datetime as dt
import io
import zipfile

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import Guardianship
from program.models import ChildCopy

pytestmark = pytest.mark.django_db


def unzipped(content):
    packed = zipfile.ZipFile(io.BytesIO(content))
    return {name: packed.read(name) for name in packed.namelist()}


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
    first, second = fetch(parent, cast.child, copy), fetch(parent, cast.child, copy)
    assert first.headers["Content-Type"] == "application/zip"
    assert first.headers["Cache-Control"] == "private, no-store"
    assert "read-me-first.html" in unzipped(first.content)
    assert second.status_code == 302
    copy.refresh_from_db()
    assert bytes(copy.content) == b"", "what is fetched is not kept"


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
        child=cast.child, asked_by=cast.guardian, asked_at=now, ready_at=now, content=b"zip"
    )
    assert copy in ChildCopy.objects.to_fetch(now)
    assert copy not in ChildCopy.objects.over(now)
    assert copy in ChildCopy.objects.over(now + dt.timedelta(days=7))
    assert copy not in ChildCopy.objects.to_fetch(now + dt.timedelta(days=7))
