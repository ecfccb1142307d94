"""The screens on which the tests look at our pages, in CSS pixels."""

import time
from collections.abc import Callable
from typing import Final

from playwright.sync_api import ViewportSize

DESK: Final[ViewportSize] = {"width": 1280, "height": 860}
PHONE: Final[ViewportSize] = {"width": 390, "height": 844}
TABLET: Final[ViewportSize] = {"width": 1024, "height": 768}

WITH_A_WORKER = {"service_workers": "allow"}
"""A browser whose service worker keeps pages and sends what waits, as everybody's does."""


def until(is_so: Callable[[], object], seconds: float = 10) -> None:
    """Waits for what only a promise tells: to `wait_for_function` a promise is true."""
    ends_at = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < ends_at, "it did not come to that"
        time.sleep(0.05)
