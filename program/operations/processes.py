"""Processes that are kept running: one that ends by itself is started again, and none outlives us.

Linux: the kernel ends a child whose parent was killed (PR_SET_PDEATHSIG, prctl(2)).
"""

import contextlib
import ctypes
import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from program.config.embedded_postgres.locks import ending_on_signals

FIRST_PAUSE: Final = 1.0
LONGEST_PAUSE: Final = 60.0
LONG: Final = 60.0
"""Seconds after which one that ended had been running well, and the pauses begin anew."""
SECONDS_TO_STOP: Final = 10
SECONDS_BETWEEN_LOOKS: Final = 0.2
TELL_ME_WHEN_MY_PARENT_DIES: Final = 1

type Say = Callable[[str], object]


NOT_AGAIN: Final = 3
"""The exit status by which a process says that another start of it would fail too."""


class CannotGoOn(Exception):
    """A process that cannot be started, or not again; the message says which."""


@dataclass(frozen=True)
class Process:
    """What is to run, under the name by which a person is told of it ("The worker")."""

    name: str
    command: Sequence[str]
    environment: Mapping[str, str] = field(default_factory=dict)
    folder: Path | None = None
    handles: Sequence[int] = ()
    """Open files of ours that it is to have as well."""


@contextlib.contextmanager
def keep_running(wanted: Sequence[Process], say: Say) -> Iterator["KeptRunning"]:
    """Starts them all, and ends them all with the block, which SIGINT, SIGTERM and SIGHUP end by
    SystemExit. Call `look_after` within it.

    Raises CannotGoOn.
    """
    with ending_on_signals() as ignore_signals:
        kept = KeptRunning([_Kept(process, say) for process in wanted])
        try:
            kept.start()
            yield kept
        finally:
            ignore_signals()
            kept.stop()


class KeptRunning:
    def __init__(self, each: "list[_Kept]") -> None:
        self._each = each

    def start(self) -> None:
        for kept in self._each:
            kept.start()

    def look_after(self, also: Callable[[], object] = lambda: None) -> None:
        """Start again what ends, for ever.

        also: called at every look, for what else is to be kept running.
        Raises CannotGoOn.
        """
        while True:
            also()
            for kept in self._each:
                kept.look()
            time.sleep(SECONDS_BETWEEN_LOOKS)

    def ended(self) -> list[str]:
        """The names of those that are not running just now."""
        return [kept.process.name for kept in self._each if not kept.is_running]

    def stop(self) -> None:
        """All are asked to end at once, and what has not after a while is killed."""
        for kept in self._each:
            kept.ask_to_end()
        deadline = time.monotonic() + SECONDS_TO_STOP
        for kept in self._each:
            kept.see_ended(deadline)


class _Kept:
    """One process, over as many starts as it takes."""

    def __init__(self, process: Process, say: Say) -> None:
        self.process = process
        self._say = say
        self._running: subprocess.Popen[bytes] | None = None
        self._started_at = 0.0
        self._start_again_at = 0.0
        self._pause = FIRST_PAUSE

    @property
    def is_running(self) -> bool:
        return self._running is not None and self._running.poll() is None

    def start(self) -> None:
        self._running = _started(self.process)
        self._started_at = time.monotonic()

    def look(self) -> None:
        if self._running is not None and self._running.poll() is not None:
            self._wait_a_while(self._running.returncode)
        elif self._running is None and time.monotonic() >= self._start_again_at:
            self.start()

    def _wait_a_while(self, status: int) -> None:
        if status == NOT_AGAIN:
            raise CannotGoOn(f"{self.process.name} cannot start; its own words are above.")
        self._running = None
        ran = time.monotonic() - self._started_at
        pause = FIRST_PAUSE if ran >= LONG else self._pause
        self._say(
            f"{self.process.name} ended by itself ({_in_words(status)}). "
            f"It is started again in {pause:g} s."
        )
        self._start_again_at = time.monotonic() + pause
        self._pause = min(pause * 2, LONGEST_PAUSE)

    def ask_to_end(self) -> None:
        if self._running is not None:
            self._running.terminate()

    def see_ended(self, deadline: float) -> None:
        if self._running is None:
            return
        with contextlib.suppress(subprocess.TimeoutExpired):
            self._running.wait(max(0, deadline - time.monotonic()))
        with contextlib.suppress(ProcessLookupError):  # it, and what it may have started
            os.killpg(self._running.pid, signal.SIGKILL)
        self._running.wait()


def _started(process: Process) -> subprocess.Popen[bytes]:
    parent = os.getpid()
    libc = ctypes.CDLL(None, use_errno=True)

    def end_with_parent() -> None:
        libc.prctl(TELL_ME_WHEN_MY_PARENT_DIES, signal.SIGTERM)
        if os.getppid() != parent:  # it died before it could be asked
            os.kill(os.getpid(), signal.SIGKILL)

    try:
        return subprocess.Popen(  # noqa: S603
            process.command,
            cwd=process.folder,
            pass_fds=process.handles,
            env={**os.environ, **process.environment},
            start_new_session=True,  # a terminal's Ctrl-C is for us, who then end it
            preexec_fn=end_with_parent,  # this process runs no other thread
        )
    except OSError as error:
        raise CannotGoOn(f"{process.name} cannot be started: {error}.") from error


def _in_words(status: int) -> str:
    return signal.Signals(-status).name if status < 0 else f"exit status {status}"
