"""The web server, asked as browsers, slow phones and worse ask it, with a small application."""

import contextlib
import http.client
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from program.config.database import POOL
from program.operations import web_server

REPOSITORY = Path(__file__).resolve().parents[3]
MANY = 300

APPLICATION = """
import sys, time
from program.operations.web_server import serve
import socket

def application(environ, start_response):
    path = environ["PATH_INFO"]
    if path == "/slow":
        print("begun", flush=True)
        time.sleep(1)
    body = {
        "/long": lambda: b"a" * 5_000_000,
        "/echo": lambda: str(len(environ["wsgi.input"].read())).encode(),
        "/length": lambda: environ.get("CONTENT_LENGTH", "none").encode(),
        "/scheme": lambda: environ.get("HTTP_X_FORWARDED_PROTO", "none").encode(),
    }.get(path, lambda: path.encode())()
    start_response("200 OK", [("Content-Type", "text/plain"), ("Content-Length", str(len(body)))])
    return [body]

serve(application, socket.socket(fileno=int(sys.argv[1])), threads=4)
"""


class Server:
    def __init__(self) -> None:
        door = web_server.opened_door("127.0.0.1", 0)
        self.port = door.getsockname()[1]
        self.process = subprocess.Popen(
            [sys.executable, "-c", APPLICATION, str(door.fileno())],
            cwd=REPOSITORY,
            pass_fds=[door.fileno()],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        door.close()
        wait_until(lambda: answers(self.port))

    def get(self, path: str = "/", body: bytes | None = None, **headers: str) -> str:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        with contextlib.closing(connection):
            connection.request("POST" if body else "GET", path, body, headers)
            answer = connection.getresponse()
            assert answer.status == 200
            return answer.read().decode()

    def connect(self, first: bytes = b"", receive: int | None = None) -> socket.socket:
        door = socket.socket()
        door.settimeout(5)
        if receive:
            door.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, receive)
        door.connect(("127.0.0.1", self.port))
        door.sendall(first)
        return door

    def said_to(self, request: bytes) -> bytes:
        """Everything that comes back until the server closes."""
        with self.connect(request) as door:
            parts = []
            with contextlib.suppress(TimeoutError, ConnectionResetError):
                while part := door.recv(65536):
                    parts.append(part)
            return b"".join(parts)


def answers(port: int) -> bool:
    with socket.socket() as door:
        return door.connect_ex(("127.0.0.1", port)) == 0


def wait_until(true: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 20
    while not true():
        assert time.monotonic() < deadline
        time.sleep(0.02)


def running() -> Iterator[Server]:
    server = Server()
    yield server
    if server.process.poll() is None:
        server.process.kill()
    server.process.communicate()


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    yield from running()


@pytest.fixture
def ending() -> Iterator[Server]:
    """One that the test ends."""
    yield from running()


HALF = {
    "of a request’s header": b"GET / HTTP/1.1\r\nHost: a\r\nX-Half: ",
    "of its body": b"POST /echo HTTP/1.1\r\nHost: a\r\nContent-Length: 9000\r\n\r\n" + b"a" * 4500,
    "of nothing": b"",
}


@pytest.mark.parametrize("half", HALF)
def test_hundreds_that_sent_one_half_hold_nobody_up(server, half):
    with contextlib.ExitStack() as held:
        for _ in range(MANY):
            held.enter_context(server.connect(HALF[half]))
        begin = time.monotonic()
        assert [server.get("/page") for _ in range(10)] == ["/page"] * 10
        assert time.monotonic() - begin < 3


def test_those_who_read_a_long_answer_slowly_hold_nobody_up(server):
    ask = b"GET /long HTTP/1.1\r\nHost: a\r\n\r\n"
    with contextlib.ExitStack() as held:
        slow = [held.enter_context(server.connect(ask, receive=2048)) for _ in range(40)]
        assert all(door.recv(10) for door in slow)
        assert server.get("/page") == "/page"


def test_what_is_being_answered_when_it_is_told_to_end_is_answered(ending):
    with ending.connect(b"GET /slow HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n") as door:
        assert ending.process.stdout.readline() == "begun\n"
        ending.process.send_signal(signal.SIGTERM)
        said = b""
        while part := door.recv(4096):
            said += part
    assert said.endswith(b"/slow")
    assert ending.process.wait(5) == 0


def test_what_waits_for_a_thread_when_it_is_told_to_end_is_answered_too(ending):
    with contextlib.ExitStack() as held:
        ask = b"GET /slow HTTP/1.1\r\nHost: a\r\n\r\n"
        doors = [held.enter_context(ending.connect(ask)) for _ in range(6)]  # of 4 threads
        for _ in range(4):
            ending.process.stdout.readline()
        ending.process.send_signal(signal.SIGTERM)
        assert all(door.recv(4096).startswith(b"HTTP/1.1 200") for door in doors)


def test_slow_ones_do_not_keep_it_from_ending(ending):
    with ending.connect(HALF["of its body"]), ending.connect():
        ending.process.send_signal(signal.SIGTERM)
        assert ending.process.wait(4) == 0
    assert not answers(ending.port)


def test_ctrl_c_ends_it_without_a_traceback(ending):
    ending.process.send_signal(signal.SIGINT)
    assert ending.process.communicate(timeout=10) == ("", "")


def test_a_request_with_two_lengths_is_refused_whole(server):
    hidden = b"GET /hidden HTTP/1.1\r\nHost: a\r\n\r\n"
    for version in (b"1.1", b"1.0"):
        said = server.said_to(
            b"POST /echo HTTP/" + version + b"\r\nHost: a\r\nConnection: keep-alive\r\n"
            b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + hidden
        )
        assert said[9:12] == b"400", version
        assert b"/hidden" not in said


def test_a_length_in_other_words_is_refused(server):
    for length in (b"+5", b"5, 5", b"5\r\nContent-Length: 6", b"0x5"):
        said = server.said_to(
            b"POST /echo HTTP/1.1\r\nHost: a\r\nContent-Length: " + length + b"\r\n\r\naaaaaa"
        )
        assert said.startswith(b"HTTP/1.1 400"), length


def test_two_requests_sent_at_once_are_answered_in_their_order(server):
    said = server.said_to(
        b"GET /first HTTP/1.1\r\nHost: a\r\n\r\n"
        b"GET /second HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n"
    )
    assert 0 < said.find(b"/first") < said.find(b"/second")


def test_ten_megabytes_arrive_whole(server):
    assert server.get("/echo", b"a" * 10_000_000) == "10000000"


def test_what_is_far_too_large_is_refused_before_it_is_sent(server):
    begin = time.monotonic()
    said = server.said_to(
        b"POST /echo HTTP/1.1\r\nHost: a\r\nContent-Length: 1000000000000\r\n\r\naaaa"
    )
    assert said.startswith(b"HTTP/1.1 413")
    assert time.monotonic() - begin < 3


def test_a_body_in_chunks_has_its_length_told_so_that_its_limit_holds(server):
    said = server.said_to(
        b"POST /length HTTP/1.1\r\nHost: a\r\nConnection: close\r\nTransfer-Encoding: chunked\r\n"
        b"\r\n4\r\naaaa\r\n3\r\naaa\r\n0\r\n\r\n"
    )
    assert said.endswith(b"\r\n\r\n7")


def test_what_a_proxy_says_of_the_visitor_is_handed_on(server):
    assert server.get("/scheme", **{"X-Forwarded-Proto": "https"}) == "https"


def test_nothing_tells_which_server_it_is(server):
    assert b"Server:" not in server.said_to(HALF["of nothing"] + b"GET / HTTP/1.0\r\n\r\n")


def test_no_thread_waits_for_a_connection_to_the_database():
    assert POOL["max_size"] >= web_server.THREADS


def test_a_port_in_use_is_named_with_another_to_try(monkeypatch):
    monkeypatch.setattr(web_server, "SECONDS_TO_FREE_THE_PORT", 0)
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(web_server.NoDoor, match=rf"Port {port} is in use.* --port {port + 1}"):
            web_server.opened_door("127.0.0.1", port)


def test_an_address_that_this_machine_does_not_have_is_named(monkeypatch, settings):
    settings.ON_THIS_MACHINE_ONLY = False
    monkeypatch.setattr(web_server, "SECONDS_TO_FREE_THE_PORT", 0)
    with pytest.raises(web_server.NoDoor, match=r"192\.0\.2\.1"):
        web_server.opened_door("192.0.2.1", 8000)
