"""Several people at one moment."""

import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pkgutil import resolve_name
from typing import Any

import pytest
from django.db import connection

PATIENCE = 20
"""Seconds until one who waits for the others gives up."""


def together[T](*acts: Callable[[], T]) -> list[T]:
    """Do all of them at the same moment, each on a connection of its own; what each comes to, in
    their order. What one of them raises is raised. For tests with `transaction=True`."""
    start = threading.Barrier(len(acts))

    def do(act: Callable[[], T]) -> T:
        try:
            start.wait(PATIENCE)
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        under_way = [pool.submit(do, act) for act in acts]
        return [each.result(PATIENCE) for each in under_way]


AWHILE = 1
"""Seconds that the first is held up where nobody has to wait for it."""


def in_the_middle_of[T](
    patch: pytest.MonkeyPatch, where: str, first: Callable[[], T], second: Callable[[], T]
) -> list[T]:
    """Do the second while the first stands before the function of that name, and lets the first go
    on once the second waits for a lock; what both come to."""
    stands, function = threading.Event(), resolve_name(where)

    def held_up(*args: Any, **kwargs: Any) -> Any:
        if not stands.is_set():
            stands.set()
            _until_somebody_waits()
        return function(*args, **kwargs)

    def then() -> T:
        stands.wait(PATIENCE)
        return second()

    patch.setattr(where, held_up)
    return together(first, then)


def _until_somebody_waits() -> None:
    deadline = time.monotonic() + AWHILE
    with connection.cursor() as cursor:
        while time.monotonic() < deadline:
            cursor.execute("SELECT EXISTS (SELECT 1 FROM pg_locks WHERE NOT granted)")
            if cursor.fetchone() == (True,):
                return
            time.sleep(0.01)
