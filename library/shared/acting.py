"""Who acts, as the database knows it: its row security lets a person read what `visible_to` would,
whatever a query forgets to ask.

A connection begins as the program itself, which sees all; a page is read in one transaction as the
person who opens it.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final

from django.db import connection, transaction
from django.utils import timezone
from psycopg.pq import TransactionStatus

ACT_AS: Final = "SELECT act_as(%s, %s)"
SETTINGS: Final = (
    "sees_all",
    "acting",
    "cohorts",
    "children",
    "remembered",
    "remembered_children",
    "decided",
    "measured",
    "by",
    "request",
)
NOW: Final = "SELECT " + ", ".join(
    f"coalesce(current_setting('fledge.{name}', true), '')" for name in SETTINGS
)
AS_BEFORE: Final = "SELECT " + ", ".join(
    f"set_config('fledge.{name}', %s, true)" for name in SETTINGS
)
WRITES_AS: Final = "SELECT " + ", ".join(
    f"set_config('fledge.{name}', %s, true)" for name in ("by", "request")
)
WRITES: Final = ("INSERT", "UPDATE", "DELETE", "WITH")
AS_THE_PROGRAM: Final = "SELECT set_config('fledge.sees_all', 'on', true)"


@contextmanager
def acting_as(person_id: int) -> Iterator[None]:
    """Read as a person, in one transaction."""
    if connection.in_atomic_block:
        with _said_for_now(ACT_AS, person_id, timezone.localdate()):
            yield
        return
    with transaction.atomic():
        _say(ACT_AS, person_id, timezone.localdate())
        yield


@contextmanager
def acting_for_the_program() -> Iterator[None]:
    """Read what is beyond the person who acts, for a count or a check that tells nobody of whom.
    Within a transaction."""
    with _said_for_now(AS_THE_PROGRAM):
        yield


@contextmanager
def writing_as(person_id: int, request: str) -> Iterator[None]:
    """Have what is recorded of changes say who made them, and in which request. Said anew in each
    transaction and for it alone, so that nothing of it is left on a connection that goes back into
    a pool; what is written outside of one gets one of its own."""
    values = (str(person_id), request)
    if connection.in_atomic_block:
        with _said_for_now(WRITES_AS, *values):
            yield
        return
    with connection.execute_wrapper(_signed(values)):
        yield


def _signed(values: tuple[str, str]) -> Callable[..., Any]:
    def execute_signed(
        execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any
    ) -> Any:
        if connection.in_atomic_block:
            if connection.connection.info.transaction_status == TransactionStatus.IDLE:
                _say(WRITES_AS, *values)  # the transaction begins with it
            return execute(sql, params, many, context)
        if not sql.lstrip().upper().startswith(WRITES):
            return execute(sql, params, many, context)
        with transaction.atomic():
            _say(WRITES_AS, *values)
            return execute(sql, params, many, context)

    return execute_signed


@contextmanager
def _said_for_now(statement: str, *values: object) -> Iterator[None]:
    """Within a transaction that goes on afterwards as it was."""
    before = _say(NOW)
    _say(statement, *values)
    try:
        yield
    finally:
        # One that failed takes it back by itself.
        if connection.connection.info.transaction_status == TransactionStatus.INTRANS:
            _say(AS_BEFORE, *before)


def _say(statement: str, *values: object) -> tuple[Any, ...]:
    """Below what counts and logs queries: it belongs to beginning a transaction."""
    connection.ensure_connection()
    with connection.wrap_database_errors:
        row: tuple[Any, ...] = connection.connection.execute(statement, values).fetchone()
    return row
