"""Doing a thing once, however often it is asked for.

A form that makes something carries an idempotency key of its own; the same key sent again is the
same request, repeated by a doubtful connection or an impatient finger.
"""

import hashlib
import json
import uuid
from typing import TYPE_CHECKING, Final

from django.db import connection
from django.db.transaction import TransactionManagementError
from django.utils import timezone

from program.models import IdempotencyKey

if TYPE_CHECKING:
    from library.shared.access import Request

KEY_FIELD: Final = "once"
"""What a form calls its key. Pages stay open across releases, so its name on the wire stays."""


def new_idempotency_key() -> str:
    return uuid.uuid4().hex


def already_done(request: "Request", *what: object) -> bool:
    """Whether this person's request was done before, by its key, its path and what it asks for.

    Ask inside the transaction that does it: one that failed may be asked for again. A request
    without a key is never a repetition.
    """
    if not connection.in_atomic_block:
        raise TransactionManagementError("Ask within the transaction of what is to be done once.")
    key = request.POST.get(KEY_FIELD, "")
    if not key:
        return False
    asked = json.dumps([request.user.pk, key, request.path, *map(str, what)])
    digest = hashlib.sha256(asked.encode()).hexdigest()
    return not IdempotencyKey.objects.remember(digest, timezone.now())
