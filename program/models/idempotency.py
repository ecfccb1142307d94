import datetime as dt
from typing import Final

from django.db import models

REMEMBERED: Final = dt.timedelta(hours=24)
"""How long a request sent again is known for one: an open page's, or one of a slow connection."""

CLEARED_AT_A_TIME: Final = 100


class IdempotencyKeyQuerySet(models.QuerySet["IdempotencyKey"]):
    def older_than(self, moment: dt.datetime) -> "IdempotencyKeyQuerySet":
        return self.filter(created_at__lt=moment)

    def forgotten(self, now: dt.datetime) -> "IdempotencyKeyQuerySet":
        """Those remembered long enough."""
        return self.older_than(now - REMEMBERED)

    def clear(self, now: dt.datetime) -> None:
        """Forget some of those remembered long enough, oldest first. Rows that somebody else is
        clearing are left to them: waiting here, with what this transaction has locked, could stop
        both."""
        old = self.forgotten(now).order_by("created_at")
        some = old.select_for_update(skip_locked=True).values("pk")[:CLEARED_AT_A_TIME]
        self.filter(pk__in=some).delete()

    def remember(self, digest: str, now: dt.datetime) -> bool:
        """Write a request down; False where it stood here already. While another transaction is at
        the same request, this waits for what becomes of it."""
        self.clear(now)
        _, is_new = self.get_or_create(digest=digest, defaults={"created_at": now})
        return is_new


class IdempotencyKey(models.Model):
    """A request that makes something and was done. The row stands or falls with what was made,
    because one transaction writes both.

    Whoever writes one clears old ones away, so the table holds little more than a day's.
    """

    digest = models.CharField(max_length=64, primary_key=True, editable=False)
    created_at = models.DateTimeField(db_index=True)

    objects = IdempotencyKeyQuerySet.as_manager()

    def __str__(self) -> str:
        return self.digest
