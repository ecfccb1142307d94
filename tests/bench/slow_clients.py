"""Which web server goes on serving while many clients are slow, and what it costs:
`uv run --with gunicorn --with granian … python -m tests.bench.slow_clients [--pages] [NAME …]`.

Each server answers on 127.0.0.1 from the demo's data, as in the demo. Clients that send half a
request's header, half its body, nothing at all, or read a long answer a little at a time hold their
connections (and open them anew when the server closes them) while one honest client opens pages.
Then eight honest ones ask for three pages without them (with `--pages`, this alone). Servers that
are not installed are left out, and named. `program/docs/serving.md` holds what came out.
"""

import asyncio
import contextlib
import http.client
import importlib.util
import os
import signal
import socket
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

os.environ["DJANGO_SETTINGS_MODULE"] = "program.config.settings"
import tests.postgres  # noqa: F401 -- starts a Postgres of its own before Django reads its settings
from program.operations.web_server import opened_door

ROOT = Path(__file__).resolve().parents[2]
PORT = 8197
WSGI = "program.config.wsgi:application"
ASGI = "django.core.asgi:get_asgi_application"
PYTHON = sys.executable
OURS = "program.operations.web_server"
GUNICORN = f"{PYTHON} -m gunicorn {WSGI} --bind 127.0.0.1:{PORT} --no-control-socket"
GRANIAN = f"{PYTHON} -m granian --host 127.0.0.1 --port {PORT} --no-ws --no-log"
WAITRESS = (
    f"{PYTHON} -m waitress --listen 127.0.0.1:{PORT} --connection-limit 2000 --asyncore-use-poll"
)
SERVERS = {
    "Fledge’s": f"{PYTHON} -m {OURS} HANDLE",
    "gunicorn, 4 threads": f"{GUNICORN} --threads 4",
    "gunicorn, 8 threads": f"{GUNICORN} --threads 8",
    "gunicorn, 64 threads": f"{GUNICORN} --threads 64",
    "gunicorn, gevent": f"{GUNICORN} -k gevent",
    "granian, 8 threads": f"{GRANIAN} --interface wsgi --blocking-threads 8 {WSGI}",
    "waitress, 4 threads": f"{WAITRESS} --threads 4 {WSGI}",
    "waitress, 8 threads": f"{WAITRESS} --threads 8 {WSGI}",
    "cheroot, 8 threads": f"{PYTHON} -m cheroot {WSGI} --bind 127.0.0.1:{PORT} --threads 8",
    "uvicorn, Django's ASGI": (
        f"{PYTHON} -m uvicorn --factory {ASGI} --port {PORT} --log-level warning"
    ),
    "hypercorn, WSGI": f"{PYTHON} -m hypercorn wsgi:{WSGI} --bind 127.0.0.1:{PORT}",
}
CROWDS = (100, 500)
SECONDS_A_CROWD = 6
SECONDS_UNTIL_UNDER_WAY = 40
PATIENCE = 10
"""Seconds an honest client waits for a page."""
SECONDS_A_PAGE = 6
EIGHT = 8
CLIP_BYTES = 3_000_000


def main() -> None:
    pages, cookie = prepare()
    crowds = () if "--pages" in sys.argv else CROWDS
    for name in [word for word in sys.argv[1:] if word != "--pages"] or SERVERS:
        command = SERVERS[name].split()
        if importlib.util.find_spec(command[2]) is None:
            print(f"{name}: not installed, left out", flush=True)
            continue
        for kind in ("header", "body", "answer", "silence"):
            for crowd in crowds:
                with serving(command) as server:
                    opened(pages["sign-in"], cookie)  # whatever the first request has to read
                    with slow(kind, crowd, pages, cookie):
                        said = honest(pages["sign-in"], cookie)
                    print(f"{name} | {crowd} {kind} | {said} | {megabytes(server)} MB", flush=True)
        with serving(command) as server:
            for page in ("family’s day", "coach’s week", "styles"):
                load(pages[page], cookie, seconds=2)
                print(f"{name} | {page} | {load(pages[page], cookie, SECONDS_A_PAGE)}", flush=True)
            print(f"{name} | memory | {megabytes(server)} MB", flush=True)


def prepare() -> tuple[dict[str, str], str]:
    """The demo's data; the addresses that are asked for, and the cookie of who may see them."""
    import django

    os.environ["DEMO"] = "1"
    django.setup()
    from django.core.management import call_command
    from django.db import connections
    from django.test import Client
    from django.urls import reverse

    from athletes.models import Child, User
    from library.shared.uploads import Kind, Upload
    from library.shared.uploads.keeping import kept
    from program.models import Question

    for name in ("migrate", "load_library", "load_demo"):
        call_command(name, verbosity=0)
    head = User.objects.get(email="head@fledge.example")
    parent = User.objects.get(email="parent@fledge.example")
    cookies = []
    for person in (head, parent):
        client = Client()
        client.force_login(person, "allauth.account.auth_backends.AuthenticationBackend")
        cookies.append(client.cookies["sessionid"].value)
    of_head, of_parent = cookies
    child = Child.objects.visible_to(parent).first()
    with kept(Upload(Kind.CLIP, os.urandom(CLIP_BYTES), 10, 10)) as name:
        question = Question.objects.first()
        Question.objects.filter(pk=question.pk).update(upload=name)
    pages = {
        "sign-in": "/sign-in/",
        "family’s day": reverse("program:child_day", args=[child.public_id]) + f"#{of_parent}",
        "coach’s week": reverse("program:week") + f"#{of_head}",
        "a clip": reverse("program:question_upload", args=[question.public_id]) + f"#{of_head}",
        "styles": "/static/css/components.css",
    }
    connections.close_all()
    return pages, of_head


@contextlib.contextmanager
def serving(command: list[str]) -> Iterator[subprocess.Popen[bytes]]:
    environ = {k: v for k, v in os.environ.items() if k != "DEBUG"} | {
        "DEMO": "1",
        "FLEDGE_POOL": "1",
    }
    door = opened_door("127.0.0.1", PORT)
    handle = door.fileno()
    if "HANDLE" not in command:
        door.close()  # the others open it themselves
    server = subprocess.Popen(
        [str(handle) if word == "HANDLE" else word for word in command],
        cwd=ROOT,
        env=environ,
        pass_fds=[handle] if "HANDLE" in command else [],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    door.close()
    try:
        deadline = time.monotonic() + 60
        while True:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", PORT), 1):
                break
            if server.poll() is not None or time.monotonic() > deadline:
                raise SystemExit(f"did not start: {' '.join(command)}")
            time.sleep(0.1)
        yield server
    finally:
        server.send_signal(signal.SIGTERM)
        try:
            server.wait(5)
        except subprocess.TimeoutExpired:
            for pid in reversed(family_of(server.pid)):
                os.kill(pid, signal.SIGKILL)
            server.wait()


def family_of(pid: int) -> list[int]:
    words = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    return [pid] + [each for word in words for each in family_of(int(word))]


def megabytes(server: subprocess.Popen[bytes]) -> int:
    """Of the server and its children, what they share counted once."""
    kilobytes = 0
    for pid in family_of(server.pid):
        for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                kilobytes += int(line.split()[1])
    return kilobytes // 1024


def request_for(page: str, cookie: str) -> tuple[str, dict[str, str]]:
    path, _, own = page.partition("#")
    return path, {"Host": "127.0.0.1", "Cookie": f"sessionid={own or cookie}"}


# The slow ones


@contextlib.contextmanager
def slow(kind: str, crowd: int, pages: dict[str, str], cookie: str) -> Iterator[None]:
    """So many slow clients at it while the block runs."""
    ended, under_way = threading.Event(), threading.Event()
    thread = threading.Thread(
        target=lambda: asyncio.run(hold(kind, crowd, pages, cookie, under_way, ended)), daemon=True
    )
    thread.start()
    under_way.wait(SECONDS_UNTIL_UNDER_WAY)  # each answer has begun, where the server gets so far
    try:
        yield
    finally:
        ended.set()
        thread.join()


async def hold(
    kind: str,
    crowd: int,
    pages: dict[str, str],
    cookie: str,
    under_way: threading.Event,
    ended: threading.Event,
) -> None:
    path, headers = request_for(pages["a clip"], cookie)
    words = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    first = {
        "header": f"GET {path} HTTP/1.1\r\n{words}X-Slow: ",
        "body": f"POST /sign-in/ HTTP/1.1\r\n{words}Content-Length: 9000\r\n\r\n{'a' * 4000}",
        "answer": f"GET {path} HTTP/1.1\r\n{words}\r\n",
        "silence": "",
    }[kind].encode()
    busy: set[int] = set()
    clients = [
        asyncio.create_task(one_slow(first, kind, number, number / crowd, busy))
        for number in range(crowd)
    ]
    while not ended.is_set():
        await asyncio.sleep(0.1)
        if len(busy) == crowd:
            under_way.set()
    for each in clients:
        each.cancel()
    await asyncio.gather(*clients, return_exceptions=True)


async def one_slow(first: bytes, kind: str, number: int, wait: float, busy: set[int]) -> None:
    loop = asyncio.get_running_loop()
    await asyncio.sleep(wait)
    while True:
        with socket.socket() as door, contextlib.suppress(OSError):
            door.setblocking(False)
            if kind == "answer":
                door.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
            await loop.sock_connect(door, ("127.0.0.1", PORT))
            await loop.sock_sendall(door, first)
            if kind == "answer":
                await loop.sock_recv(door, 64)
            busy.add(number)
            while True:
                await asyncio.sleep(2)
                if kind in {"header", "body"}:
                    await loop.sock_sendall(door, b"a")
                elif kind == "answer" and not await loop.sock_recv(door, 64):
                    break
        await asyncio.sleep(0.5)


# The honest ones


def honest(page: str, cookie: str) -> str:
    """One client, each page over a connection of its own."""
    took, missed = [], 0
    until = time.monotonic() + SECONDS_A_CROWD
    while time.monotonic() < until:
        seconds = opened(page, cookie)
        if seconds is None:
            missed += 1
        else:
            took.append(seconds)
        time.sleep(0.1)
    return f"{len(took)} of {len(took) + missed} answered, {in_words(took)}"


def opened(page: str, cookie: str) -> float | None:
    path, headers = request_for(page, cookie)
    begin = time.perf_counter()
    connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=PATIENCE)
    try:
        connection.request("GET", path, headers=headers)
        answer = connection.getresponse()
        answer.read()
    except (OSError, http.client.HTTPException):
        return None
    finally:
        connection.close()
    return time.perf_counter() - begin if answer.status < 400 else None


def load(page: str, cookie: str, seconds: int) -> str:
    """Eight clients, each over one connection that is kept alive."""
    path, headers = request_for(page, cookie)
    until = time.monotonic() + seconds

    def one(_: int) -> list[float]:
        took = []
        connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=PATIENCE)
        while time.monotonic() < until:
            begin = time.perf_counter()
            try:
                connection.request("GET", path, headers=headers)
                answer = connection.getresponse()
                answer.read()
                if answer.status == 200:
                    took.append(time.perf_counter() - begin)
            except (OSError, http.client.HTTPException):
                connection.close()
        connection.close()
        return took

    with ThreadPoolExecutor(EIGHT) as pool:
        took = [each for client in pool.map(one, range(EIGHT)) for each in client]
    return f"{len(took) / seconds:.1f} a second, {in_words(took)}"


def in_words(took: list[float]) -> str:
    if not took:
        return "none"
    took = sorted(took)
    p99 = took[min(len(took) - 1, int(len(took) * 0.99))]
    return f"p50 {statistics.median(took) * 1000:.0f} ms, p99 {p99 * 1000:.0f} ms"


if __name__ == "__main__":
    main()
