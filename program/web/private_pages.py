"""What a browser may keep of a page that somebody signed in was given, and what it may not use."""

from collections.abc import Callable
from typing import Any, Final

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.cache import patch_cache_control

type Answering = Callable[[HttpRequest], HttpResponseBase]

NOT_USED: Final = (
    "accelerometer",
    "camera",
    "display-capture",
    "geolocation",
    "gyroscope",
    "hid",
    "idle-detection",
    "local-fonts",
    "magnetometer",
    "microphone",
    "midi",
    "payment",
    "serial",
    "usb",
    "xr-spatial-tracking",
)
"""A photo or clip is taken by the phone's own camera, outside of the browser's page."""
USED: Final = ("autoplay", "screen-wake-lock")
"""By the follow-along: its sounds, and the screen that stays on."""
PERMISSIONS: Final = ", ".join(
    [*(f"{name}=()" for name in NOT_USED), *(f"{name}=(self)" for name in USED)]
)


def keep_private(get_response: Answering) -> Answering:
    """Middleware; after the one that knows who asks.

    A family's page is asked for anew each time, and is there for Back and without a connection; a
    coach's, which names many children, no browser keeps at all. What the service worker keeps for
    the hall and the family's week it keeps itself and wipes itself. An answer that has said how it
    may be kept has said so: figures, and the library's own photos.
    """

    def middleware(request: HttpRequest) -> HttpResponseBase:
        answer = get_response(request)
        person = _who_was_asked_after(request)
        if person is not None and not answer.has_header("Cache-Control"):
            if person.is_coach:
                patch_cache_control(answer, no_store=True)
            else:
                patch_cache_control(answer, private=True, no_cache=True)
        answer.headers.setdefault("Permissions-Policy", PERMISSIONS)
        # No other site puts a page, figure or photo of ours into one of its own.
        answer.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return answer

    return middleware


def _who_was_asked_after(request: HttpRequest) -> Any:
    """Whoever is signed in, if the page wanted to know: to ask only now would cost a query where
    nothing depends on it."""
    person = getattr(request, "_cached_user", None)  # kept there by `request.user`
    return person if person is not None and person.is_authenticated else None
