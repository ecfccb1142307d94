"""Errors that say nothing about the request: the database is away, busy, or took too long."""

from typing import Final

import psycopg
from django.db import Error

AWAY_OR_BUSY: Final = {
    "08",  # the connection broke
    "28",  # the database does not let us in
    "3D",  # there is no such database
    "40",  # two transactions stood in each other's way
    "53",  # out of disk, memory or connections
    "57",  # stopped, restarted, or cancelled by a limit
    "58",  # its disk
}
"""Classes of SQLSTATE, by their first two letters."""

LIMITS_HIT: Final = {"55P03", "25P03", "25P04"}  # lock, idle in transaction, transaction
STOPPED_FOR_ANOTHER: Final = {"40P01", "40001"}  # a deadlock, a serialization failure
INTERRUPTED: Final = {"40", "55", "57"}
"""Those after which a statement of its own is surely not done, as the server itself says so."""


def is_database_trouble(error: BaseException | None) -> bool:
    """Whether trying the same again later may well succeed."""
    cause = _of_psycopg(error)
    if cause is None:
        return False
    state = cause.sqlstate
    if state is None:  # not the server's word: no connection was to be had, or it was cut
        return isinstance(cause, psycopg.OperationalError | psycopg.InterfaceError)
    return state in LIMITS_HIT or state[:2] in AWAY_OR_BUSY


def was_refused_by_the_server(error: BaseException) -> bool:
    """Whether the server itself said that it ended the statement, which is then undone."""
    cause = _of_psycopg(error)
    return cause is not None and cause.sqlstate is not None and cause.sqlstate[:2] in INTERRUPTED


def was_stopped_for_another(error: BaseException | None) -> bool:
    """Whether two stood in each other's way and the server ended this one: all of its transaction
    is undone, also where it was at its commit."""
    cause = _of_psycopg(error)
    return cause is not None and cause.sqlstate in STOPPED_FOR_ANOTHER


def is_lock_not_available(error: BaseException) -> bool:
    return isinstance(_of_psycopg(error), psycopg.errors.LockNotAvailable)


def kind_of(error: BaseException) -> str:
    """What happened, in one word: of the database, as Postgres calls it."""
    return type(_of_psycopg(error) or error).__name__


def _of_psycopg(error: BaseException | None) -> psycopg.Error | None:
    if isinstance(error, Error) and isinstance(error.__cause__, psycopg.Error):
        return error.__cause__
    return error if isinstance(error, psycopg.Error) else None
