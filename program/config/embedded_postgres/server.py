"""The server process of a data folder: whether one runs, adopting it, starting it, stopping it.

The kernel says which process listens on a socket (SO_PEERCRED, unix(7)), and the server says which
folder it serves. A process is signalled only when both name ours, through a handle (pidfd_open(2))
opened before they were asked: a process number in use again can never be hit.
"""

import contextlib
import os
import select
import signal
import socket
import struct
import subprocess
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import psycopg

from program.config.embedded_postgres import binaries, locations
from program.config.embedded_postgres.locations import PATIENCE, EmbeddedPostgresError, Place

SUPERUSER = "postgres"
DEFAULTS = {
    "timezone": "UTC",
    "log_timezone": "UTC",
    # The log must not repeat what people typed: no statement, no row, no failed value.
    "log_min_messages": "log",
    "log_min_error_statement": "panic",
    "log_error_verbosity": "terse",
}
LOG_BYTES = 5_000_000
CONNECT_SECONDS = 5

_launched: dict[int, subprocess.Popen[bytes]] = {}


def connect(place: Place, database: str = "postgres") -> psycopg.Connection[tuple[Any, ...]]:
    return psycopg.connect(
        host=str(place.socket_dir),
        port=locations.PORT,
        user=SUPERUSER,
        dbname=database,
        connect_timeout=CONNECT_SECONDS,
        autocommit=True,
    )


def _serving(place: Place) -> int | None:
    """The process number of the server answering for this data folder; None if none answers yet.

    Raises EmbeddedPostgresError if what answers serves another folder.
    """
    try:
        with connect(place) as connection:
            row = connection.execute("SHOW data_directory").fetchone()
            listener = _listener(connection.fileno())
    except psycopg.OperationalError:
        return None
    served = Path(row[0]) if row else Path()
    if not served.exists() or not served.samefile(place.cluster):
        raise EmbeddedPostgresError(
            f"The server answering in {place.socket_dir} serves {served}, not {place.cluster}. "
            "Was the folder moved while it ran? Stop that server and start again."
        )
    return listener


def _listener(connected: int) -> int:
    """The process listening at the other end of a connected Unix socket, by the kernel."""
    size = struct.calcsize("3i")
    with socket.fromfd(connected, socket.AF_UNIX, socket.SOCK_STREAM) as peer:
        pid, _uid, _gid = struct.unpack(
            "3i", peer.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, size)
        )
    return int(pid)


def _pid_file(place: Place) -> Path:
    return place.cluster / "postmaster.pid"


def _recorded_pid(place: Place) -> int | None:
    with contextlib.suppress(OSError, ValueError, IndexError):
        return int(_pid_file(place).read_text().splitlines()[0])
    return None


def _at_work_in(cluster: Path) -> set[int]:
    """The Postgres processes of a data folder: each sits in it from first moment to last."""
    found = set()
    for process in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):  # it ended meanwhile, or is another user's
            is_postgres = (process / "comm").read_text() == "postgres\n"
            if is_postgres and (process / "cwd").samefile(cluster):
                found.add(int(process.name))
    return found


def adopt(place: Place) -> bool:
    """Whether a server of ours answers. One coming up, going down or just crashed is waited for.

    Lock files that outlived their server are removed: Postgres would take any living process that
    has the number in them by now for a server.
    """
    deadline = time.monotonic() + PATIENCE
    while not answers(place):
        if not _at_work_in(place.cluster):
            for stale in (_pid_file(place), place.socket, place.socket_lock):
                stale.unlink(missing_ok=True)
            return False
        _give_up_after(deadline, place)
        time.sleep(0.02)
    return True


def answers(place: Place) -> bool:
    """Whether what answers is the server the folder records, not one of a folder since replaced."""
    pid = _recorded_pid(place)
    return pid is not None and _serving(place) == pid


def _give_up_after(deadline: float, place: Place) -> None:
    if time.monotonic() > deadline:
        raise EmbeddedPostgresError(
            f"Postgres is at work in {place.cluster} and does not answer. It may still be "
            f"recovering: look at {place.log}, and try again in a while."
        )


def forget_ended() -> None:
    """Take leave of servers that we started and that ended otherwise, so that no zombie stays."""
    for pid, process in list(_launched.items()):
        if process.poll() is not None:
            del _launched[pid]


def launch(place: Place, settings: Mapping[str, str]) -> None:
    forget_ended()
    locations.make_socket_folder(place)
    if place.log.exists() and place.log.stat().st_size > LOG_BYTES:
        place.log.replace(place.old_log)
    fixed = {
        "listen_addresses": "",
        "port": str(locations.PORT),
        "unix_socket_directories": '"{}"'.format(str(place.socket_dir).replace('"', '""')),
        "unix_socket_permissions": "0700",
    }
    if refused := fixed.keys() & settings.keys():
        raise EmbeddedPostgresError(f"These settings are Fledge's own: {', '.join(refused)}.")
    options = [f"-c{name}={value}" for name, value in {**DEFAULTS, **settings, **fixed}.items()]
    process, already_logged = _run(place, options)
    try:
        _wait_until_it_answers(process, place, already_logged)
    except (KeyboardInterrupt, SystemExit):
        process.send_signal(signal.SIGINT)  # a child not yet waited for: the number is surely its
        process.wait()
        raise
    _launched[process.pid] = process


def _run(place: Place, options: list[str]) -> tuple[subprocess.Popen[bytes], int]:
    """The new server process, and how long its log was before."""
    postgres = binaries.within_reach(place.account) / binaries.INSTALLED / "bin" / "postgres"
    with open(place.log, "ab", opener=_for_us_alone) as log:
        already_logged = log.tell()
        process = subprocess.Popen(  # noqa: S603
            [postgres, "-D", place.cluster, *options],
            **binaries.run_as_server(place),
            stdout=log,
            stderr=log,
            start_new_session=True,  # a terminal's Ctrl-C and hang-up are for us, not for it
            umask=0o077,
        )
    return process, already_logged


def _for_us_alone(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _wait_until_it_answers(
    process: subprocess.Popen[bytes], place: Place, already_logged: int
) -> None:
    deadline = time.monotonic() + PATIENCE
    while _serving(place) != process.pid:
        if process.poll() is not None:
            with place.log.open("rb") as log:
                log.seek(already_logged)
                said = log.read().decode(errors="replace").strip()
            raise EmbeddedPostgresError(f"Postgres did not start in {place.cluster}:\n{said}")
        _give_up_after(deadline, place)
        time.sleep(0.01)


def stop(place: Place) -> None:
    pid = _recorded_pid(place)
    if pid is None:
        return
    try:
        process = os.pidfd_open(pid)
    except ProcessLookupError:
        return
    try:
        deadline = time.monotonic() + PATIENCE
        while _serving(place) != pid:
            if pid not in _at_work_in(place.cluster):
                return
            _give_up_after(deadline, place)
            time.sleep(0.02)
        signal.pidfd_send_signal(process, signal.SIGINT)
        _wait_for_exit(process, place)
    finally:
        os.close(process)
    if pid in _launched:
        _launched.pop(pid).wait()


def _wait_for_exit(process: int, place: Place) -> None:
    ended = select.poll()
    ended.register(process, select.POLLIN)
    if not ended.poll(PATIENCE * 1000):
        raise EmbeddedPostgresError(
            f"The Postgres server was told to stop and is still busy: look at {place.log}."
        )
