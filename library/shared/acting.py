"""Who acts, as the database knows it: its row security lets a person read what `visible_to` would,
whatever a query forgets to ask.

A connection that serves pages begins as nobody, who sees nothing, and each transaction says for
whom it is. A worker's and a command's begins as the program itself, which sees all.
"""

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from contextvars import ContextVar
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
    "writes",
    "request",
)
NOW: Final = "SELECT " + ", ".join(
    f"coalesce(current_setting('fledge.{name}', true), '')" for name in SETTINGS
)
AS_BEFORE: Final = "SELECT " + ", ".join(
    f"set_config('fledge.{name}', %s, true)" for name in SETTINGS
)
WRITE_AS: Final = (
    "SELECT act_as(%s, %s), set_config('fledge.writes', 'on', true), "
    "set_config('fledge.request', %s, true)"
)
ACT_FOR_CHILD: Final = "SELECT act_for_child(%s, %s)"
AS_THE_PROGRAM: Final = "SELECT set_config('fledge.sees_all', 'on', true)"
UNNAMED: Final = f"{AS_THE_PROGRAM}, set_config('fledge.acting', '', true)"


each_transaction_begins_with: ContextVar[tuple[object, ...] | None] = ContextVar(
    "each_transaction_begins_with", default=None
)
"""What is said first in each, of this request."""


@contextmanager
def acting_as(person_id: int) -> Iterator[None]:
    """Read as a person, in one transaction."""
    with _in_a_transaction(), _said_for_now(ACT_AS, person_id, timezone.localdate()):
        yield


@contextmanager
def acting_for_the_program() -> Iterator[None]:
    """Read and write what is beyond the person who acts: for a count or a check that tells nobody
    of whom, and for what follows from their act for others."""
    with _in_a_transaction(), _said_for_now(AS_THE_PROGRAM):
        yield


@contextmanager
def acting_unnamed() -> Iterator[None]:
    """Write what says of nobody who wrote it, and what whoever did may not read."""
    with _in_a_transaction(), _said_for_now(UNNAMED):
        yield


@contextmanager
def writing_as(person_id: int, request: str) -> Iterator[None]:
    """Read and write as a person, and have what is recorded of changes say in which request."""
    with _beginning_with(WRITE_AS, person_id, timezone.localdate(), request):
        yield


@contextmanager
def acting_for_child(child_id: int, today: dt.date) -> Iterator[None]:
    """Read and write of all children this one alone, as nobody."""
    with _beginning_with(ACT_FOR_CHILD, child_id, today):
        yield


@contextmanager
def _beginning_with(statement: str, *values: object) -> Iterator[None]:
    """Said anew in each transaction and for it alone, so that whoever became theirs in the one
    before is seen, and nothing is left on a connection that goes back into a pool. What is asked
    outside of one gets one of its own."""
    before = each_transaction_begins_with.set((statement, *values))
    try:
        with _for_now_or_in_each(statement, *values):
            yield
    finally:
        each_transaction_begins_with.reset(before)


def _for_now_or_in_each(statement: str, *values: object) -> AbstractContextManager[Any]:
    if connection.in_atomic_block:
        return _said_for_now(statement, *values)
    return connection.execute_wrapper(_execute_said)


def see_who_joined() -> None:
    """Say once more who acts, after waiting for a lock: who became theirs meanwhile is seen. Within
    a transaction that is theirs."""
    if what := each_transaction_begins_with.get():
        _say(*what)


def _execute_said(
    execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any
) -> Any:
    with _in_a_transaction():
        _say_who_acts()
        return execute(sql, params, many, context)


def _in_a_transaction() -> AbstractContextManager[Any]:
    return nullcontext() if connection.in_atomic_block else transaction.atomic()


def _say_who_acts() -> None:
    """Unless this transaction has begun."""
    what = each_transaction_begins_with.get()
    if what and connection.connection.info.transaction_status == TransactionStatus.IDLE:
        _say(*what)


@contextmanager
def _said_for_now(statement: str, *values: object) -> Iterator[None]:
    """Within a transaction that goes on afterwards as it was."""
    connection.ensure_connection()
    _say_who_acts()
    before = _say(NOW)
    _say(statement, *values)
    try:
        yield
    finally:
        # One that failed takes it back by itself.
        if connection.connection.info.transaction_status == TransactionStatus.INTRANS:
            _say(AS_BEFORE, *before)


def _say(statement: Any, *values: object) -> tuple[Any, ...]:
    """Below what counts and logs queries: it belongs to beginning a transaction."""
    with connection.wrap_database_errors:
        row: tuple[Any, ...] = connection.connection.execute(statement, values).fetchone()
    return row
