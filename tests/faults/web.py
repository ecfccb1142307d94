"""The web server and Postgres killed in the middle of a change, a crowd of slow clients, no room on
the disk, no mail server, two deploys at once."""

import contextlib
import datetime as dt
import http.client
import os
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from urllib.parse import urlencode

from django.test import Client
from django.utils import timezone
from procrastinate.contrib.django.models import ProcrastinateJob

from athletes.changes import lift
from athletes.models import Child, OutgoingMail, RestrictionQuerySet, User
from program.config import embedded_postgres
from program.models import AssignedSession, Question
from program.operations.web_server import opened_door, web_servers
from tests.faults.world import (
    PATIENCE,
    REPOSITORY,
    findings_of_safety,
    findings_when_idle,
    is_idle,
    until,
    worker,
)

BACKEND = "allauth.account.auth_backends.AuthenticationBackend"
TOKEN = "a" * 32


def session_of(person: User) -> str:
    """The key of a session of their own, as if they had signed in."""
    client = Client()
    client.force_login(person, BACKEND)
    return client.cookies["sessionid"].value


class Site:
    """A web server on 127.0.0.1, and a head coach who is signed in."""

    def __init__(self, environ: Mapping[str, str]) -> None:
        self.environ = {**os.environ, **environ}
        head = session_of(User.objects.filter(role="head_coach").first())
        self.cookie = f"sessionid={head}; csrftoken={TOKEN}"
        with socket.socket() as spare:
            spare.bind(("127.0.0.1", 0))
            self.port = spare.getsockname()[1]

    @contextlib.contextmanager
    def served(self) -> Iterator[subprocess.Popen]:
        with opened_door("127.0.0.1", self.port) as door:
            (wanted,) = web_servers(door, processes=1, threads=8)
            process = subprocess.Popen(
                wanted.command,
                cwd=wanted.folder,
                env=self.environ,
                pass_fds=wanted.handles,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        try:
            if not until(lambda: self.status("GET", "/health/live") == 200):
                raise AssertionError("the web server did not start")
            yield process
        finally:
            process.kill()
            process.wait()

    def status(self, method: str, path: str, body: bytes = b"", kind: str = "") -> int:
        """What came back; 0 where nothing did."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        headers = {"Cookie": self.cookie, "X-CSRFToken": TOKEN}
        headers |= {"Content-Type": kind} if kind else {}
        try:
            line.request(method, path, body=body or None, headers=headers)
            return line.getresponse().status
        except (OSError, http.client.HTTPException):
            return 0
        finally:
            line.close()

    def post(self, path: str, fields: Mapping[str, str]) -> int:
        said = urlencode(fields).encode()
        return self.status("POST", path, said, "application/x-www-form-urlencoded")

    def spare(self, child: Child, region: str) -> int:
        """Say on the child's page that a region is to be spared."""
        today = timezone.localdate()
        rule = {"region": region, "side": "both", "kind": "no_loading", "start": today.isoformat()}
        fields = rule | {"until": (today + dt.timedelta(days=30)).isoformat()}
        return self.post(f"/children/{child.public_id}/restrictions/", fields)

    def asked_to_spare(self, child: Child, region: str) -> tuple[threading.Thread, list[int]]:
        """`spare` under way, and where its answer will be."""
        answers: list[int] = []
        asking = threading.Thread(target=lambda: answers.append(self.spare(child, region)))
        asking.start()
        return asking, answers


def _children() -> list[Child]:
    """Those with something ahead."""
    ahead = AssignedSession.objects.untouched().filter(date__gte=timezone.localdate())
    return list(Child.objects.filter(pk__in=ahead.values("child")).order_by("pk"))


def _spared(child: Child, region: str) -> RestrictionQuerySet:
    return child.restrictions.open_on(timezone.localdate()).filter(region=region)


def _lift(child: Child, region: str) -> None:
    head = User.objects.filter(role="head_coach").first()
    for restriction in _spared(child, region):
        lift(restriction, head, timezone.localdate())


def _regions() -> list[str]:
    return ["knee", "ankle", "lower_back", "hip_groin", "thigh", "foot"]


def kill_the_web_server(times: int, environ: Mapping[str, str], seed: int = 3) -> list[str]:
    """kill −9 the web server while it saves a restriction: it is saved with what follows, or not at
    all, and what was answered as saved is saved."""
    site, chance, found = Site(environ), random.Random(seed), []
    today = timezone.localdate()
    for _ in range(times):
        child, region = chance.choice(_children()), chance.choice(_regions())
        _lift(child, region)
        with site.served() as process:
            asking, answers = site.asked_to_spare(child, region)
            time.sleep(chance.uniform(0.0, 0.35))
            process.kill()
            process.wait()
            asking.join()
        is_saved = _spared(child, region).exists()
        if answers == [302] and not is_saved:
            found.append("what was answered as saved is not there")
        found += findings_of_safety(today)
    with worker(environ):
        until(is_idle, 2 * PATIENCE)
    return found + findings_when_idle(today)


def kill_postgres(times: int, environ: Mapping[str, str], seed: int = 4) -> list[str]:
    """kill −9 Postgres while a web server and a worker are at work: no page is a fault, nothing
    that was answered is lost, and all of it goes on by itself."""
    data_dir = environ["FLEDGE_DATA_DIR"]
    site, chance, found = Site(environ), random.Random(seed), []
    today = timezone.localdate()
    with site.served(), worker(environ):
        for _ in range(times):
            child, region = chance.choice(_children()), chance.choice(_regions())
            _lift(child, region)
            asking, answers = site.asked_to_spare(child, region)
            time.sleep(chance.uniform(0.0, 0.1))
            _kill_postmaster(data_dir)
            asking.join()
            embedded_postgres.start_again_if_gone(data_dir)
            _connect_anew()
            is_saved = _spared(child, region).exists()
            if answers == [302] and not is_saved:
                found.append("what was answered as saved is not there")
            if not set(answers) <= {302, 503}:
                found.append(f"a page answered {answers}")
            if not until(lambda: site.status("GET", "/week/") == 200, 20):
                found.append("the site did not come back within 20 s")
            found += findings_of_safety(today)
        if not until(is_idle, 2 * PATIENCE):
            found.append("the worker did not come back")
    return found + findings_when_idle(today)


def _kill_postmaster(data_dir: str) -> None:
    server = embedded_postgres.start(data_dir)  # adopts it, and says where it is
    pid = int((server.data_dir / "postmaster.pid").read_text().splitlines()[0])
    os.kill(pid, signal.SIGKILL)


def _connect_anew() -> None:
    from django.db import connections

    connections.close_all()


def crowd(clients: int, environ: Mapping[str, str]) -> list[str]:
    """So many clients that send half a request and wait: an honest one is answered meanwhile."""
    site, held = Site(environ), []
    with site.served():
        try:
            for _ in range(clients):
                line = socket.create_connection(("127.0.0.1", site.port), 5)
                line.sendall(b"POST /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Le")
                held.append(line)
            begun = time.monotonic()
            answered = site.status("GET", "/week/")
            took = time.monotonic() - begun
        finally:
            for line in held:
                line.close()
    return [] if answered == 200 and took < 5 else [f"answered {answered} after {took:.1f} s"]


def full_disk(environ: Mapping[str, str], folder: str) -> list[str]:
    """No room for photos: a page that says so, and no question without its photo."""
    from tests.support.pictures import photo

    site = Site({**environ, "FLEDGE_UPLOADS_DIR": folder})
    session = AssignedSession.objects.select_related("child").first()
    path = f"/family/{session.child.public_id}/{session.public_id}/ask/"
    before = Question.objects.count()
    body, kind = _multipart({"text": "Is this the right way?", "once": "k"}, photo())
    with site.served():
        status = site.status("POST", path, body, kind)
    found = [] if status == 503 else [f"a photo without room was answered {status}"]
    if Question.objects.count() != before:
        found.append("a question was kept without its photo")
    return found


def _multipart(fields: Mapping[str, str], photo: bytes) -> tuple[bytes, str]:
    line = b"--edge\r\nContent-Disposition: form-data; name="
    parts = [line + f'"{name}"\r\n\r\n{said}\r\n'.encode() for name, said in fields.items()]
    head = line + b'"upload"; filename="a.jpg"\r\nContent-Type: image/jpeg\r\n\r\n'
    return b"".join(
        parts
    ) + head + photo + b"\r\n--edge--\r\n", "multipart/form-data; boundary=edge"


def no_mail_server(times: int, environ: Mapping[str, str]) -> list[str]:
    """Asking for a code, as a member and as a stranger, beside a mail server that takes the call
    and says nothing: answered alike, and soon."""
    told: dict[str, list[int]] = {"member": [], "stranger": []}
    slowest = 0.0
    addresses = {
        "member": User.objects.filter(role="coach").first().email,
        "stranger": "stranger@example.org",
    }
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen(64)
        away = {"MAIL_HOST": "127.0.0.1", "MAIL_PORT": str(silent.getsockname()[1])}
        site = Site({**environ, **away})
        site.cookie = f"csrftoken={TOKEN}"
        with site.served(), worker({**environ, **away}):
            for _ in range(times):
                for who, address in addresses.items():
                    begun = time.monotonic()
                    told[who].append(site.post("/sign-in/", {"email": address}))
                    slowest = max(slowest, time.monotonic() - begun)
    OutgoingMail.objects.all().delete()
    ProcrastinateJob.objects.filter(queue_name="mail")._raw_delete("default")
    found = [] if told["member"] == told["stranger"] else [f"a member is told from others: {told}"]
    if told["member"][0] != 302:
        found.append(f"a member was answered {told['member'][0]}")
    return found + ([f"asking took {slowest:.1f} s"] if slowest > 2 else [])


def two_deploys(environ: Mapping[str, str]) -> list[str]:
    """Two at once migrate an empty database."""
    from django.db import connections

    name = "two_deploys"
    with connections["owner"].cursor() as cursor:
        cursor.execute(f"DROP DATABASE IF EXISTS {name}")
        cursor.execute(f"CREATE DATABASE {name}")
    there = {
        **os.environ,
        **environ,
        **{
            key: environ[key].replace("/fledge?", f"/{name}?")
            for key in ("DATABASE_URL", "DATABASE_OWNER_URL")
        },
    }
    command = [sys.executable, "manage.py", "migrate", "-v0"]
    both = [
        subprocess.Popen(command, cwd=REPOSITORY, env=there, stderr=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    said = [each.communicate(timeout=180)[1] for each in both]
    with connections["owner"].cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name}")
    return [
        f"a migrate ended with {each.returncode}: {words[-300:]}"
        for each, words in zip(both, said, strict=True)
        if each.returncode
    ]
