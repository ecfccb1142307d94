"""One process at a time over a data folder, and a clean end on the signals that end a program."""

import contextlib
import fcntl
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

from program.config.embedded_postgres.locations import PATIENCE, EmbeddedPostgresError, Place

ENDING_SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


@contextlib.contextmanager
def opened(path: Path) -> Iterator[int]:
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        yield handle
    finally:
        os.close(handle)


@contextlib.contextmanager
def locked(place: Place) -> Iterator[int]:
    """Hold the data folder's lock; yields its file handle."""
    with opened(place.lock) as handle:
        deadline = time.monotonic() + PATIENCE
        while not _lock_now(handle):
            if time.monotonic() > deadline:
                raise EmbeddedPostgresError(
                    f"Another process is still starting or stopping Postgres in {place.home}. "
                    "Wait for it to finish, or end it, and try again."
                )
            time.sleep(0.02)
        yield handle


def _lock_now(handle: int) -> bool:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def is_the_last(users: int) -> bool:
    """Give up the shared hold, and see whether nobody else has one."""
    fcntl.flock(users, fcntl.LOCK_UN)
    return _lock_now(users)


@contextlib.contextmanager
def ending_on_signals() -> Iterator[Callable[[], None]]:
    """Turn the ending signals into SystemExit; yields what makes them be ignored while stopping.

    A hang-up that was already ignored (nohup) stays ignored.
    """
    if threading.current_thread() is not threading.main_thread():
        yield lambda: None
        return

    def leave(number: int, frame: FrameType | None) -> None:
        raise SystemExit(128 + number)

    before = {number: signal.getsignal(number) for number in ENDING_SIGNALS}
    if before[signal.SIGHUP] is signal.SIG_IGN:
        del before[signal.SIGHUP]

    def handle_all(handler: Callable[[int, FrameType | None], None] | signal.Handlers) -> None:
        for number in before:
            signal.signal(number, handler)

    handle_all(leave)
    try:
        yield lambda: handle_all(signal.SIG_IGN)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
