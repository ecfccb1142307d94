"""Two sessions of one day are one day of one body. Pure."""

import datetime as dt
from collections.abc import Callable, Iterable
from typing import Any


def hardest_of_each_day[T](
    sessions: Iterable[T], on: Callable[[T], dt.date], hardness: Callable[[T], Any]
) -> list[T]:
    """Of the sessions of each day the hardest, the oldest day first; of equals the first given.

    The harder one stands for the day: what a day asked of a child is at least what its hardest
    session did, an easy one beside it makes that no easier, and counting both would let one bad day
    agree with itself. A house rule. Loads of a day are added up instead (`engine.load`).
    """
    hardest: dict[dt.date, T] = {}
    for session in sessions:
        day = on(session)
        if day not in hardest or hardness(session) > hardness(hardest[day]):
            hardest[day] = session
    return [hardest[day] for day in sorted(hardest)]
