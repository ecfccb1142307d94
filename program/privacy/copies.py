"""A copy of everything about one child: asked for, made by the worker, fetched once.

The zip lies sealed beside the uploads, under a name made from the copy's key: made again after a
kill it is the same file, and one whose row is gone is found by the nightly clearing. No backup
holds it.
"""

import datetime as dt
from typing import TYPE_CHECKING, Any, Final

from django.core.files.base import ContentFile
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from athletes.mailing import notice, send_after_commit
from athletes.models import Child
from library.shared.sealing import seal, unsealed
from library.shared.task_queue import Queue, enqueue, task
from library.shared.uploads.keeping import delete_upload, uploads
from program.models import ChildCopy
from program.privacy.child_data import data_of
from program.privacy.copy_files import zipped

if TYPE_CHECKING:
    from athletes.models import User


@transaction.atomic
def ask_for_copy(child: Child, by: "User", now: dt.datetime, origin: str) -> ChildCopy:
    """Have a copy made; asked for again while one is being made, it is that one."""
    copy, is_new = ChildCopy.objects.waiting().get_or_create(
        child=child, asked_by=by, defaults={"asked_at": now}
    )
    if is_new:
        enqueue(make_copy, copy=copy.pk, origin=origin)
    return copy


@task("program.make_copy", Queue.CHANGES)
def make_copy(copy: int, origin: str) -> None:
    """Make it, unless it is made already or nobody may have it any more, and say so by mail."""
    with transaction.atomic():
        asked = ChildCopy.objects.waiting().select_for_update(of=("self",)).filter(pk=copy)
        found = asked.select_related("child", "asked_by").first()
        if found is None:
            return
        if not Child.objects.visible_to(found.asked_by).contains(found.child):
            found.delete()
            return
        found.ready_at = timezone.now()
        keep_file(found, zipped(data_of(found.child, found.asked_by), found.ready_at))
        found.save(update_fields=["ready_at"])
        _tell(found, origin)


FOLDER: Final = "copies"
"""Of the storage of uploads."""


def _name_of(copy: ChildCopy) -> str:
    return f"{FOLDER}/{copy.public_id.hex}"


def _purpose_of(copy: ChildCopy) -> str:
    return f"program.child_copy:{copy.public_id}"


def keep_file(copy: ChildCopy, content: bytes) -> None:
    """In place of what a worker that was killed may have left."""
    name = _name_of(copy)
    uploads().delete(name)
    uploads().save(name, ContentFile(seal(content, _purpose_of(copy))))


def _content_of(copy: ChildCopy) -> bytes | None:
    """None where the file is gone, as after a restore."""
    name = _name_of(copy)
    if not uploads().exists(name):
        return None
    with uploads().open(name) as file:
        return unsealed(file.read(), _purpose_of(copy))


def on_copy_deleted(instance: ChildCopy, **signal: Any) -> None:
    """Receiver of `post_delete`: the file goes with its row, whatever took that."""
    if instance.ready_at:
        enqueue(delete_upload, name=_name_of(instance))


def files_without_a_copy(now: dt.datetime) -> list[str]:
    """What a worker left that was killed, and what somebody put there who is no worker of ours:
    nothing that is waited for or can be fetched."""
    try:
        found = uploads().listdir(FOLDER)[1]
    except FileNotFoundError:  # a folder on a disk, before the first copy
        return []
    over = ChildCopy.objects.over(now).values("pk")
    wanted = ChildCopy.objects.exclude(pk__in=over)
    kept = {key.hex for key in wanted.values_list("public_id", flat=True)}
    return [f"{FOLDER}/{name}" for name in sorted(set(found) - kept)]


def clear_files(now: dt.datetime) -> None:
    for name in files_without_a_copy(now):
        uploads().delete(name)


def _tell(copy: ChildCopy, origin: str) -> None:
    """Whoever asked is told, whether they want mails or not: they wait for it."""
    link = origin + reverse("program:child_data", args=[copy.child.public_id])
    context = {"given_name": copy.child.given_name, "link": link}
    mail = notice(
        origin, copy.asked_by, "A copy is ready", "program/privacy/mail/copy.txt", context
    )
    send_after_commit([mail])


@transaction.atomic
def fetch(copy: ChildCopy, now: dt.datetime) -> bytes | None:
    """The zip, once. None where it was fetched already, by a second press perhaps, or is over or
    gone."""
    ready = ChildCopy.objects.to_fetch(now).select_for_update().filter(pk=copy.pk).first()
    if ready is None:
        return None
    content = _content_of(ready)
    ready.fetched_at = now
    ready.save(update_fields=["fetched_at"])
    enqueue(delete_upload, name=_name_of(ready))
    return content
