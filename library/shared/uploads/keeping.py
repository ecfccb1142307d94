"""Where uploads are kept, under names that tell nothing, and how they are handed out.

A row that has one keeps its name in an `upload_field()` with `upload_name_is_ours()` among its
constraints; which view serves it, and to whom, is that row's business.
"""

import re
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from django.core.files.base import ContentFile
from django.core.files.storage import Storage, storages
from django.db import models
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse

from library.shared.task_queue import Queue, enqueue, task
from library.shared.uploads.kinds import Kind, Upload

ENDINGS: Final = {Kind.PHOTO: ".jpg", Kind.CLIP: ".mp4"}
TYPES: Final = {Kind.PHOTO: "image/jpeg", Kind.CLIP: "video/mp4"}
OURS: Final = r"^([0-9a-f]{32}\.(jpg|mp4))?$"


def uploads() -> Storage:
    return storages["uploads"]


def upload_field() -> "models.CharField[str, str]":
    """The name of a row's one upload, "" for none."""
    return models.CharField(max_length=36, blank=True, default="", editable=False)


def upload_name_is_ours(name: str, field: str = "upload") -> models.CheckConstraint:
    return models.CheckConstraint(name=name, condition=Q(**{f"{field}__regex": OURS}))


def kind_of(name: str) -> Kind | None:
    """What is kept under a name; None for no name."""
    return next((kind for kind, ending in ENDINGS.items() if name.endswith(ending)), None)


@contextmanager
def kept(upload: Upload | None) -> Iterator[str]:
    """Keeps a file while its row is written: yields its name ("" for none), and lets the file go
    again if the block raises. The block is the whole transaction."""
    if upload is None:
        yield ""
        return
    name = uploads().save(f"{uuid.uuid4().hex}{ENDINGS[upload.kind]}", ContentFile(upload.content))
    try:
        yield name
    except BaseException:
        uploads().delete(name)
        raise


def on_row_deleted(instance: Any, **signal: Any) -> None:
    """Receiver of `post_delete` of a row whose upload nothing else has: the file goes with it."""
    let_upload_go(instance.upload)


def let_upload_go(name: str) -> None:
    """Have a file deleted that no row names any longer; "" for none. Within the transaction."""
    if name:
        enqueue(delete_upload, name=name)


@task("library.delete_upload", Queue.CHANGES)
def delete_upload(name: str) -> None:
    """Delete a file whose row is gone; one that is gone already is deleted."""
    uploads().delete(name)


def answer_with(request: HttpRequest, name: str, *, of_a_child: bool) -> HttpResponse:
    """The file, or the part of it a player asks for. Call once it is known that the person may see
    it. What shows a child is kept by no cache. Raises Http404 where there is none."""
    kind = kind_of(name)
    if kind is None or not uploads().exists(name):
        raise Http404
    answer = _whole_or_part(request, name, TYPES[kind])
    answer.headers["Content-Disposition"] = f'inline; filename="{kind}{ENDINGS[kind]}"'
    answer.headers["Cache-Control"] = (
        "private, no-store" if of_a_child else "private, max-age=31536000, immutable"
    )
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    answer.headers["Cross-Origin-Resource-Policy"] = "same-origin"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Accept-Ranges"] = "bytes"
    return answer


def _whole_or_part(request: HttpRequest, name: str, media_type: str) -> HttpResponse:
    """Some players play nothing of which they cannot ask a part. A file is a few megabytes at most,
    so it is read whole."""
    with uploads().open(name) as file:
        content = file.read()
    asked = request.headers.get("Range", "")
    if not asked.startswith("bytes=") or "," in asked:  # several parts may come as the whole
        return HttpResponse(content, content_type=media_type)
    part = _part(asked.removeprefix("bytes="), len(content))
    if part is None:
        return HttpResponse(status=416, headers={"Content-Range": f"bytes */{len(content)}"})
    headers = {"Content-Range": f"bytes {part[0]}-{part[-1]}/{len(content)}"}
    return HttpResponse(
        content[part.start : part.stop], status=206, content_type=media_type, headers=headers
    )


def _part(asked: str, length: int) -> range | None:
    """The bytes that are asked for (RFC 9110, 14.1.2), "5-9", "5-" or, the last five, "-5"; None
    where there are none such."""
    found = re.fullmatch(r"(\d{0,12})-(\d{0,12})", asked)
    if found is None or found[0] == "-":
        return None
    first, last = found.groups()
    if first:
        part = range(int(first), min(int(last or length) + 1, length))
    else:
        part = range(max(length - int(last), 0), length)
    # Where the first lies behind the last, there is none.
    return part or None
