"""Requests still on their way when a test ends: they would meet the emptying of the database."""

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Page, Request


@contextmanager
def all_answered(page: Page) -> Iterator[None]:
    """At the end, waits until everything this page and its workers asked for has been answered."""
    asked: set[Request] = set()
    context = page.context
    context.on("request", lambda request: asked.add(request))
    context.on("requestfinished", lambda request: asked.discard(request))
    context.on("requestfailed", lambda request: asked.discard(request))
    yield
    for _ in range(100):
        if not asked:
            break
        page.wait_for_timeout(50)
    context.close()
