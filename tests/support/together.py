"""Several people at one moment."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

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
