"""The web server: `python -m program.operations.web_server HANDLE --threads N`.

Waitress, because it reads a request whole before a thread is given to it, and keeps what a client
has not read yet: slow clients cost memory, and none of the few threads
(`program/docs/serving.md` has what was measured). Its socket is opened by whoever starts it and
shared by all processes, so that one that is started again loses nobody who knocked meanwhile.
"""

import argparse
import errno
import logging
import resource
import signal
import socket
import sys
import time
from collections.abc import Callable
from types import FrameType
from typing import Any, Final

from django.conf import settings
from waitress import create_server, wasyncore
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser, ParsingError

from library.shared.uploads.limit import MOST
from program.config.database import POOL
from program.operations.processes import Process
from program.operations.this_machine import refuse_others

THREADS: Final = int(str(POOL["max_size"]))
"""Of one process: one more would wait for a connection to the database."""

SECONDS_TO_FREE_THE_PORT = 5  # an earlier web server may be on its way out
SECONDS_TO_FINISH = 6
CONNECTIONS: Final = 1000
HANDLES_OF_A_CONNECTION: Final = 3  # its socket, and files where what comes and goes is large
OTHER_HANDLES: Final = 200

LIMITS: Final[dict[str, Any]] = {
    "channel_timeout": 60,  # seconds without a byte
    "cleanup_interval": 5,
    # More than the application refuses with a page of its own, so that it can; and not without
    # end, because it lies in a file meanwhile.
    "max_request_body_size": 4 * MOST,
    "inbuf_overflow": 128 * 1024,  # bytes of a connection that are kept in memory
    "outbuf_overflow": 256 * 1024,
    "asyncore_use_poll": True,
    "clear_untrusted_proxy_headers": False,  # the settings say whom to believe
    "log_socket_errors": False,  # a client that leaves is nothing to tell
    "ident": None,
}


class NoDoor(Exception):
    """An address that cannot be served at; the message says why, and the way out."""


class OneLength(HTTPRequestParser):  # type: ignore[misc]  # it carries no types
    """Refuses what tells its length in two ways: a proxy in front may have believed the other, and
    what it takes for this request's body would here be the next one (RFC 9112, 6.3)."""

    def parse_header(self, header_plus: bytes) -> None:
        super().parse_header(header_plus)
        in_chunks_too = self.chunked and "CONTENT_LENGTH" in self.headers
        if in_chunks_too or "TRANSFER_ENCODING" in self.headers:  # left there by HTTP/1.0 alone
            raise ParsingError("The length of the body is told in two ways")


class Channel(HTTPChannel):  # type: ignore[misc]
    parser_class = OneLength


def opened_door(address: str, port: int) -> socket.socket:
    """A socket that has the address and does not listen yet. Raises NoDoor, and
    ImproperlyConfigured where others could reach what is for this machine alone."""
    if settings.ON_THIS_MACHINE_ONLY:
        refuse_others(settings.ON_THIS_MACHINE_ONLY_BY, [address])
    door = socket.socket(socket.AF_INET6 if ":" in address else socket.AF_INET)
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    deadline = time.monotonic() + SECONDS_TO_FREE_THE_PORT
    while True:
        try:
            door.bind((address, port))
        except OSError as error:
            if error.errno != errno.EADDRINUSE or time.monotonic() > deadline:
                door.close()
                raise NoDoor(_why_not(address, port, error)) from error
        else:
            return door
        time.sleep(0.1)


def _why_not(address: str, port: int, error: OSError) -> str:
    match error.errno:
        case errno.EADDRINUSE:
            return (
                f"Port {port} is in use, perhaps by another Fledge. Stop that one, or give "
                f"another port: --port {port + 1}"
            )
        case errno.EACCES:
            return f"Port {port} is not open to you: give another."
        case _:
            return f"This machine cannot serve at {address}: {error.strerror or error}."


def web_servers(door: socket.socket, processes: int, threads: int) -> list[Process]:
    """Processes that serve at one door."""
    names = ["The web server"] if processes == 1 else _numbered(processes)
    return [_web_server(name, door, threads) for name in names]


def _numbered(processes: int) -> list[str]:
    return [f"Web server {number}" for number in range(1, processes + 1)]


def _web_server(name: str, door: socket.socket, threads: int) -> Process:
    handle = door.fileno()
    module = ["-m", "program.operations.web_server", str(handle), "--threads", str(threads)]
    return Process(name, [sys.executable, *module], folder=settings.BASE_DIR, handles=[handle])


def serve(application: Callable[..., Any], door: socket.socket, threads: int) -> None:
    """Answers until SIGTERM or SIGINT, and then what has been asked by then."""
    logging.getLogger("waitress").setLevel(logging.ERROR)
    connections: dict[int, Any] = {}
    server = create_server(
        application,
        connections,
        sockets=[door],
        threads=threads,
        connection_limit=_connections_that_fit(),
        **LIMITS,
    )
    server.channel_class = Channel
    told_to_end = False

    def end(number: int, frame: FrameType | None) -> None:
        nonlocal told_to_end
        told_to_end = True
        server.pull_trigger()  # wakes the round that waits for something to happen

    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, end)
    while not told_to_end:
        _one_round(connections)
    wasyncore.dispatcher.close(server)  # nobody else comes in; `server.close` would stop the rest
    deadline = time.monotonic() + SECONDS_TO_FINISH
    while _being_answered(server) and time.monotonic() < deadline:
        _one_round(connections)
    server.task_dispatcher.shutdown(timeout=1)


def _one_round(connections: dict[int, Any]) -> None:
    wasyncore.loop(timeout=1, use_poll=True, map=connections, count=1)


def _being_answered(server: Any) -> bool:
    return any(each.requests or each.total_outbufs_len for each in server.active_channels.values())


def _connections_that_fit() -> int:
    """As many as this process may have handles for, of which it takes all it is allowed to."""
    _, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = OTHER_HANDLES + CONNECTIONS * HANDLES_OF_A_CONNECTION
    handles = wanted if most == resource.RLIM_INFINITY else min(wanted, most)
    resource.setrlimit(resource.RLIMIT_NOFILE, (handles, most))
    return max(1, (handles - OTHER_HANDLES) // HANDLES_OF_A_CONNECTION)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("handle", type=int)
    parser.add_argument("--threads", type=int, default=THREADS)
    told = parser.parse_args()
    from program.config.wsgi import application  # reads the settings, and the apps with them

    serve(application, socket.socket(fileno=told.handle), told.threads)


if __name__ == "__main__":
    main()
