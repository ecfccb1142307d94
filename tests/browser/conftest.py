import os
import threading
import time
from collections.abc import Iterator

import pytest
from django.core.signals import request_finished, request_started
from playwright.sync_api import expect

# Playwright drives the browser from an event loop of its own; the ORM, called between its steps
# from the same thread, is not in anybody's way there.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

# Where two cores carry the browser, the server and the other worker, five seconds are not always
# enough. What is true at once is still seen at once.
expect.set_options(timeout=20_000)


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
