"""The garbage collector, kept out of the requests a server answers.

A page of many rows leaves thousands of objects that point at each other. Left to itself, the
collector lets them gather over a dozen requests and then goes through everything that lives, in the
middle of the next one: some 200 ms of work on top of a board (`tests/bench/board.py`). So the
server collects after each answer has gone out, while there is little, and sets aside what stays.
"""

import gc
from itertools import count
from typing import Final

from django.core.signals import request_finished

from program.common.library_snapshot import library_read

MOST_MADE: Final = 200_000
"""Objects made and not gone within one request before it is interrupted nevertheless."""

FULL_EVERY: Final = 50
"""Requests, for what other threads held on to when theirs was collected."""

_answered = count(1)


def collect_between_requests() -> None:
    gc.set_threshold(MOST_MADE, 10, 10)
    request_finished.connect(collect)
    library_read.connect(set_aside)


def collect(**_: object) -> None:
    gc.collect(2 if next(_answered) % FULL_EVERY == 0 else 1)


def set_aside(**_: object) -> None:
    """Look at what was set aside again, so that the library as it was until now is let go, and set
    aside what lives now."""
    gc.unfreeze()
    gc.collect()
    gc.freeze()
