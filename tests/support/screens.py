"""The screens on which the tests look at our pages, in CSS pixels."""

from typing import Final

from playwright.sync_api import ViewportSize

DESK: Final[ViewportSize] = {"width": 1280, "height": 860}
PHONE: Final[ViewportSize] = {"width": 390, "height": 844}
TABLET: Final[ViewportSize] = {"width": 1024, "height": 768}

WITH_A_WORKER = {"service_workers": "allow"}
"""A browser whose service worker keeps pages and sends what waits, as everybody's does."""
