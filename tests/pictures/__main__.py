"""`uv run python -m tests.pictures [FOLDER]`: see `tests.pictures`."""

import argparse
import io
import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from pathlib import Path
from unittest.mock import patch

import tests.pictures.apart

# isort: split
import tests.postgres  # noqa: F401 -- starts a Postgres of its own before Django reads its settings
from tests.pictures import PICTURES, file_name

SEED = 1
THREADS = 8
SHADES = 2
"""Of 256, by which two pictures may differ and be the same to everybody."""


def main() -> None:
    parser = argparse.ArgumentParser(description="Take the pictures of README.md anew.")
    parser.add_argument("folder", type=Path, nargs="?", default=PICTURES)
    folder = parser.parse_args().folder
    folder.mkdir(parents=True, exist_ok=True)
    import django

    django.setup()
    from tests.pictures.stations import AFTERNOON, STATIONS

    with patch("django.utils.timezone.now", lambda: AFTERNOON):
        load()
        with served() as base, browser() as chromium:
            for station in STATIONS:
                for path in taken(station, chromium, base, folder):
                    print(f"{path.name}: {path.stat().st_size / 1024:.0f} KB", flush=True)


def load() -> None:
    """The demo as it would be on that day, with all done that its worker would have done."""
    from django.core.management import call_command
    from django.db import connections

    from program.demo.load import Size, load_demo
    from tests.pictures.stations import FRIDAY
    from tests.support.work import work_off

    call_command("migrate", verbosity=0)
    call_command("load_library", verbosity=0)
    load_demo(Size(), SEED, FRIDAY)
    with redirect_stdout(io.StringIO()):  # mails are printed
        work_off()
    connections.close_all()


@contextmanager
def served() -> Iterator[str]:
    """Fledge on this machine, in this process, whose clock stands still."""
    from waitress import create_server

    from program.config.wsgi import application

    logging.getLogger("waitress").setLevel(logging.ERROR)  # of each request that waits for another
    server = create_server(application, host="127.0.0.1", port=0, threads=THREADS)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        server.close()


@contextmanager
def browser() -> Iterator:
    from playwright.sync_api import sync_playwright

    from tests.support.chromium import LAUNCH

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(**LAUNCH)
        try:
            yield chromium
        finally:
            chromium.close()


def taken(station, chromium, base: str, folder: Path) -> Iterator[Path]:
    """The station's picture, light and dark."""
    from tests.pictures.stations import AFTERNOON
    from tests.support.screens import LIGHT_AND_DARK, put_on

    context = chromium.new_context(
        viewport=station.screen,
        base_url=base,
        locale="en-GB",
        timezone_id="Europe/London",
        reduced_motion="reduce",
        service_workers="block",
    )
    context.add_cookies([{"name": "sessionid", "value": cookie_of(station.email), "url": base}])
    page = context.new_page()
    page.clock.install(time=AFTERNOON)
    answer = page.goto(station.where())
    assert answer.status == 200, f"{station.name}: {answer.status}"
    page.wait_for_load_state("networkidle")
    station.first(page)
    for scheme in LIGHT_AND_DARK:
        put_on(page, station.screen, scheme)
        page.wait_for_load_state("networkidle")
        page.evaluate("document.fonts.ready")
        path = folder / file_name(station.name, scheme)
        keep(page.screenshot(), path)
        yield path
    context.close()


def cookie_of(email: str) -> str:
    from django.test import Client

    from athletes.models import User

    client = Client()
    backend = "allauth.account.auth_backends.AuthenticationBackend"
    client.force_login(User.objects.get(email=email), backend)
    return client.cookies["sessionid"].value


def keep(picture: bytes, path: Path) -> None:
    """As WebP without loss, which flat colours and letters take best; what looks the same stays
    the file it was."""
    from PIL import Image

    with Image.open(io.BytesIO(picture)) as image:
        seen = image.convert("RGB")
    if not (path.exists() and looks_like(seen, path)):
        seen.save(path, "WEBP", lossless=True, quality=100, method=6)


def looks_like(seen, path: Path) -> bool:
    """The browser does not draw every edge to the same shade each time."""
    from PIL import Image, ImageChops

    with Image.open(path) as before:
        if before.size != seen.size:
            return False
        apart = ImageChops.difference(seen, before.convert("RGB"))
    return max(most for _, most in apart.getextrema()) <= SHADES


if __name__ == "__main__":
    main()
