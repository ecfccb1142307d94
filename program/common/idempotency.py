"""Doing a thing once, however often it is asked for.

A form that makes something carries a key of its own; asking again with the same key is the same
wish, sent twice by a doubtful connection or an impatient finger.
"""

import hashlib
import uuid
from typing import TYPE_CHECKING

from django.core.cache import cache

if TYPE_CHECKING:
    from library.shared.access import Request

REMEMBERED = 60 * 60 * 24  # seconds


def new_idempotency_key() -> str:
    return uuid.uuid4().hex


def already_done(request: "Request", *wish: object) -> bool:
    """Whether this person's request came before, by its `once` field, its path and what it wishes.

    Ask inside the transaction that grants the wish: a wish that failed may be asked again. A
    request without a key is never a repetition.
    """
    key = request.POST.get("once", "")
    if not key:
        return False
    told = "|".join([str(request.user.pk), key, request.path, *map(str, wish)])
    digest = hashlib.sha256(told.encode()).hexdigest()
    return not cache.add(f"once:{digest}", 1, REMEMBERED)
