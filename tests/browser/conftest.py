import os
import threading
import time
from collections.abc import Callable, Iterator

import pytest
from django.core.servers.basehttp import WSGIRequestHandler
from django.core.signals import request_finished, request_started
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, ViewportSize, expect

from athletes.models import User
from tests.support.screens import DESK

# Playwright drives the browser from an event loop of its own; the ORM, called between its steps
# from the same thread, is not in anybody's way there.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

# Where two cores carry the browser, the server and the other worker, five seconds are not always
# enough. What is true at once is still seen at once.
PATIENCE = 20_000  # ms
expect.set_options(timeout=PATIENCE)

# Django’s server writes head and body of an answer apart, and the system would hold the body
# back until the browser has acknowledged the head: 40 ms for each request.
WSGIRequestHandler.disable_nagle_algorithm = True

NO_FAULTS = ("status of 409", "status of 422", "htmx:sendAbort", "htmx:afterRequest")
"""What the console calls an error and is none: a form that is refused, a request that the next key
or page cuts off. Of a request that fails the browser tells by itself."""

type SignIn = Callable[[BrowserContext, User], None]
type Browse = Callable[..., Page]


class UnderWay:
    """The requests that have begun and not ended, counted in whichever thread answers them."""

    def __init__(self) -> None:
        self._count = 0
        self._changed = threading.Condition()

    def begun(self, **_: object) -> None:
        with self._changed:
            self._count += 1

    def ended(self, **_: object) -> None:
        with self._changed:
            self._count -= 1
            self._changed.notify_all()

    def wait_for_none(self, seconds: float) -> bool:
        with self._changed:
            return self._changed.wait_for(lambda: self._count <= 0, seconds)


@pytest.fixture(autouse=True)
def _last_requests_are_answered(request: pytest.FixtureRequest) -> Iterator[None]:
    """A page that is closed leaves requests behind, an offline worker's above all. The tables are
    emptied only once they are answered: otherwise the two wait for each other's locks.

    Autouse, and it asks for the database first: so it ends after the pages and before the tables.
    """
    if request.node.get_closest_marker("django_db") is None:
        yield
        return
    request.getfixturevalue("transactional_db")
    under_way = UnderWay()
    request_started.connect(under_way.begun)
    request_finished.connect(under_way.ended)
    yield
    time.sleep(0.05)  # for what the browser sent while it was closed
    answered = under_way.wait_for_none(30)
    request_started.disconnect(under_way.begun)
    request_finished.disconnect(under_way.ended)
    assert answered, "the server is still answering a request of this test"


@pytest.fixture
def sign_in(client_for, live_server) -> SignIn:
    """Make a browser that person's."""

    def signed_in(context: BrowserContext, person: User) -> None:
        cookie = client_for(person).cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": cookie, "url": live_server.url}])

    return signed_in


@pytest.fixture
def browse(browser: Browser, sign_in: SignIn, live_server) -> Iterator[Browse]:
    """A page for a person, in a browser of its own that knows our addresses; a script error fails
    the test. Without a service worker, which would fetch a family's week behind every page: what
    needs one asks for it (`tests.support.screens.WITH_A_WORKER`)."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def opened(person: User, viewport: ViewportSize = DESK, **options: object) -> Page:
        options = {"service_workers": "block"} | options
        context = browser.new_context(viewport=viewport, base_url=live_server.url, **options)
        contexts.append(context)
        sign_in(context, person)
        page = context.new_page()
        page.set_default_timeout(PATIENCE)
        page.on("pageerror", lambda error: faults.append(str(error)))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert faults == []


@pytest.fixture
def browse_faultless(browse: Browse) -> Iterator[Browse]:
    """The same; whatever the console calls an error, as a refused style or a missing file, fails
    the test as well."""
    pages: list[Page] = []
    faults: list[str] = []

    def note(said: ConsoleMessage) -> None:
        if said.type == "error" and not any(each in said.text for each in NO_FAULTS):
            faults.append(said.text)

    def opened(person: User, viewport: ViewportSize = DESK, **options: object) -> Page:
        page = browse(person, viewport, **options)
        page.on("console", note)
        pages.append(page)
        return page

    yield opened
    for page in pages:
        page.context.close()  # whatever it still has to tell comes before
    assert faults == []
