"""The screens on which the tests look at our pages, in CSS pixels."""

import time
from collections.abc import Callable, Iterable, Iterator
from itertools import product
from typing import Final, Literal

from playwright.sync_api import Page, ViewportSize

SMALLEST: Final[ViewportSize] = {"width": 320, "height": 640}
DESK: Final[ViewportSize] = {"width": 1280, "height": 860}
PHONE: Final[ViewportSize] = {"width": 390, "height": 844}
TABLET: Final[ViewportSize] = {"width": 1024, "height": 768}

WITH_A_WORKER = {"service_workers": "allow"}
"""A browser whose service worker keeps pages and sends what waits, as everybody's does."""

LIGHT_AND_DARK: Final = ("light", "dark")
END_TRANSITIONS = """document.getAnimations()
    .filter((each) => each.effect.getComputedTiming().iterations < Infinity)
    .forEach((each) => each.finish())"""


def put_on(page: Page, screen: ViewportSize, scheme: Literal["light", "dark"]) -> None:
    """Show what is open on another screen, without loading it anew."""
    page.set_viewport_size(screen)
    page.emulate_media(color_scheme=scheme)
    page.evaluate(END_TRANSITIONS)


def on_each(page: Page, screens: Iterable[ViewportSize]) -> Iterator[str]:
    """The page on each screen, light and dark; its name for what is said of it."""
    for screen, scheme in product(screens, LIGHT_AND_DARK):
        put_on(page, screen, scheme)
        yield f"{screen['width']} px, {scheme}"


def until(is_so: Callable[[], object], seconds: float = 10) -> None:
    """Waits for what only a promise tells: to `wait_for_function` a promise is true."""
    ends_at = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < ends_at, "it did not come to that"
        time.sleep(0.05)
