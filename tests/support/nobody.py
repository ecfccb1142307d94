"""Pages are served as in a web process, whose connections begin as nobody. What a test itself reads
and writes it does as the program, as a worker does."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.core.handlers.base import BaseHandler
from django.db import connection
from django.db.backends.signals import connection_created
from psycopg.pq import TransactionStatus

from library.shared.acting import each_transaction_begins_with

BEGUN = "SELECT current_setting('fledge.sees_all', true), current_setting('fledge.acting', true)"
BEGIN = "SELECT set_config('fledge.sees_all', %s, %s), set_config('fledge.acting', %s, %s)"

_begins_with: ContextVar[str] = ContextVar("begins_with", default="on")
"""What a connection that is opened now begins with."""


def serving(get_response: Callable[..., Any]) -> Callable[..., Any]:
    def served(handler: BaseHandler, request: Any) -> Any:
        with _begun(""):
            return get_response(handler, request)

    return served


@contextmanager
def as_a_worker() -> Iterator[None]:
    """Who knows nothing of the request that this may be within."""
    request = each_transaction_begins_with.set(None)
    try:
        with _begun("on"):
            yield
    finally:
        each_transaction_begins_with.reset(request)


def on_connection_created(connection: Any, **signal: Any) -> None:
    if _begins_with.get() != "on":
        _say(_begins_with.get(), "", for_now=False)


@contextmanager
def _begun(sees_all: str) -> Iterator[None]:
    later = _begins_with.set(sees_all)
    for_now, before = connection.in_atomic_block, _said()
    if before:
        _say(sees_all, "", for_now=for_now)
    try:
        yield
    finally:
        _begins_with.reset(later)
        if _is_usable():
            _say(*(before or ("on", "")), for_now=for_now)


def _said() -> tuple[str, str] | None:
    if not _is_usable():
        return None
    saw_all, acting = connection.connection.execute(BEGUN).fetchone()
    return saw_all or "", acting or ""


def _say(sees_all: str, acting: str, *, for_now: bool) -> None:
    """Below what counts queries."""
    connection.connection.execute(BEGIN, [sees_all, for_now, acting, for_now])


def _is_usable() -> bool:
    there = connection.connection
    if there is None or there.closed:
        return False
    return there.info.transaction_status != TransactionStatus.INERROR


connection_created.connect(on_connection_created)
