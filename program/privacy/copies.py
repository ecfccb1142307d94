"""A copy of everything about one child: asked for, made by the worker, fetched once."""

import datetime as dt
from typing import TYPE_CHECKING

from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from athletes.mailing import notice, send_after_commit
from athletes.models import Child
from library.shared.task_queue import Queue, enqueue, task
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
        found.content = zipped(data_of(found.child, found.asked_by), found.ready_at)
        found.save(update_fields=["ready_at", "content"])
        _tell(found, origin)


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
    """The zip, once. None where it was fetched already, by a second press perhaps, or is over."""
    ready = ChildCopy.objects.to_fetch(now).select_for_update().filter(pk=copy.pk).first()
    if ready is None:
        return None
    content = bytes(ready.content)
    ready.fetched_at, ready.content = now, b""
    ready.save(update_fields=["fetched_at", "content"])
    return content
