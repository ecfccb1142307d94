"""What a family's page costs on a phone: `uv run python -m tests.bench.family_page`.

Goals: the session's page at most 90 KB and 12 requests on the first visit, fonts included, under
10 KB on the next; the follow-along can be tapped within 1.5 s on a 4 times slower processor and a
line of 1.6 Mbit/s and 150 ms. Measured in Chromium against the web server with the settings of
a real one, on the demo's data. What the worker fetches afterwards, for later, is counted by itself.
The page on which a session is read shows a figure for every exercise, and fetches those near the
screen: it keeps to 90 KB as well, with twelve of the largest figures too. Once all of it has been
scrolled through every figure must have come.
"""

import gzip
import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

os.environ["DJANGO_SETTINGS_MODULE"] = "program.config.settings"
os.environ["SECRET_KEY"] = "for this measurement alone, and for nothing that lasts"
import tests.postgres  # noqa: F401 -- starts a Postgres of its own before Django reads its settings
from program.operations.web_server import opened_door
from tests.support.chromium import WITH_WINDOWS

ROOT = Path(__file__).resolve().parents[2]
PORT = 8199
FIGURES = 12
SEEN = "all => all.filter(one => one.naturalWidth > 0).length"
BASE = f"http://127.0.0.1:{PORT}"
HTTPS = {"X-Forwarded-Proto": "https"}
SLOW_LINE = {
    "offline": False,
    "latency": 150,
    "downloadThroughput": 1.6e6 / 8,
    "uploadThroughput": 750e3 / 8,
}


def main() -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.utils import timezone

    from athletes.models import User
    from program.common.addresses import address
    from program.demo.load import Size, load_demo
    from program.models import AssignedSession

    call_command("migrate", verbosity=0)
    call_command("load_library", verbosity=0)
    load_demo(Size(athletes=40, weeks=2), seed=3, today=timezone.localdate())
    parent = User.objects.get(email="parent@fledge.example")
    session = (
        AssignedSession.objects.visible_to(parent)
        .filter(completion=None)
        .select_related("child")
        .latest("date")
    )
    cookie = _signed_in(parent)
    with _server():
        for name, path in (
            ("session’s page", address(session, session.child)),
            ("follow-along", address(session, session.child, "follow")),
            ("page to read", address(session, session.child, "read")),
        ):
            _visits(name, path, cookie)
        _with_the_largest_figures(session)
        _visits("page with twelve figures", address(session, session.child, "read"), cookie)
        _interactive(address(session, session.child, "follow"), cookie)


def _with_the_largest_figures(session) -> None:
    """The session with twelve exercises instead of its own: those with the most to draw."""
    from library.figures import drawing, movement
    from library.models import Exercise

    sizes = {
        slug: len(gzip.compress(drawing.svg(movement.load(slug)).encode()))
        for slug in movement.slugs()
    }
    largest = sorted(sizes, key=sizes.__getitem__)[-FIGURES:]
    slot = session.slots.first()
    session.slots.all().delete()
    for position, slug in enumerate(largest):
        exercise = Exercise.objects.select_related("current").get(slug=slug)
        slot.pk, slot.position, slot.revision = None, position, exercise.current
        slot.tempo, slot.easier_revision, slot.easier_amount = exercise.current.tempo, None, None
        slot.save(force_insert=True)
    print(f"twelve figures of {sum(sizes[slug] for slug in largest) / 1024:.1f} KB")


def _signed_in(person) -> str:
    from django.test import Client

    client = Client()
    client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
    return client.cookies["sessionid"].value


@contextmanager
def _server() -> Iterator[None]:
    """As on a real machine: hashed and compressed static files, no debug."""
    env = {key: value for key, value in os.environ.items() if key not in {"DEBUG", "DEMO"}}
    env |= {"STATIC_ROOT": tempfile.mkdtemp(), "ALLOWED_HOSTS": "127.0.0.1"}
    run = [sys.executable, "manage.py", "collectstatic", "--noinput", "-v0"]
    subprocess.run(run, cwd=ROOT, env=env, check=True)
    with opened_door("127.0.0.1", PORT) as door:
        handle = door.fileno()
        serve = [sys.executable, "-m", "program.operations.web_server", str(handle)]
        process = subprocess.Popen(serve, cwd=ROOT, env=env, pass_fds=[handle])
    try:
        _wait()
        yield
    finally:
        process.terminate()
        process.wait()


def _wait() -> None:
    for _ in range(100):
        request = urllib.request.Request(f"{BASE}/sign-in/", headers=HTTPS)  # noqa: S310 -- ours
        try:
            urllib.request.urlopen(request)  # noqa: S310
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise SystemExit("The server did not start.")


@contextmanager
def _phone(cookie: str) -> Iterator:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=WITH_WINDOWS)
        context = browser.new_context(
            viewport={"width": 390, "height": 844}, extra_http_headers=HTTPS
        )
        # Chromium keeps a cookie of this name for https alone, and for its own machine.
        own = {"name": "__Host-sessionid", "value": cookie, "url": BASE.replace("http:", "https:")}
        context.add_cookies([own | {"secure": True}])
        yield context.new_page()
        browser.close()


def _visits(name: str, path: str, cookie: str) -> None:
    with _phone(cookie) as page:
        tools = page.context.new_cdp_session(page)
        tools.send("Network.enable")
        sizes: list[float] = []
        asked: list[str] = []
        tools.on("Network.loadingFinished", lambda done: sizes.append(done["encodedDataLength"]))
        tools.on("Network.requestWillBeSent", lambda sent: asked.append(sent["request"]["url"]))
        shifts = "new PerformanceObserver(list => { for (const each of list.getEntries()) " + (
            "globalThis.shift = (globalThis.shift ?? 0) + each.value; })"
            ".observe({ type: 'layout-shift', buffered: true })"
        )
        page.add_init_script(shifts)
        for visit in ("first", "next"):
            sizes.clear()
            asked.clear()
            page.goto(BASE + path)
            page.wait_for_load_state("load")
            page.wait_for_timeout(1500)
            print(
                f"{name}, {visit} visit: {sum(sizes) / 1024:.1f} KB, {len(asked)} requests, "
                f"layout shift {page.evaluate('globalThis.shift ?? 0'):.3f}, "
                f"{sum('/figures/' in url for url in asked)} of "
                f"{page.locator('img.figure').count()} figures"
            )
            if visit == "first":
                _scroll_through(page)
                seen = page.locator("img.figure").evaluate_all(SEEN)
                if seen:
                    print(f"  scrolled through: {sum(sizes) / 1024:.1f} KB, {seen} figures there")
                print("  " + " ".join(url.removeprefix(BASE) for url in asked))


def _scroll_through(page) -> None:
    figures = page.locator("img.figure")
    for number in range(figures.count()):
        figures.nth(number).scroll_into_view_if_needed()
        page.wait_for_timeout(100)
    page.wait_for_timeout(500)


def _interactive(path: str, cookie: str) -> None:
    with _phone(cookie) as page:
        tools = page.context.new_cdp_session(page)
        tools.send("Network.enable")
        tools.send("Network.emulateNetworkConditions", SLOW_LINE)
        tools.send("Emulation.setCPUThrottlingRate", {"rate": 4})
        page.goto(BASE + path, wait_until="commit")
        page.wait_for_selector(".is-live", state="attached", timeout=30_000)
        took = page.evaluate("performance.now()")
        print(f"follow-along: can be tapped {took / 1000:.2f} s after the address was opened")


if __name__ == "__main__":
    main()
