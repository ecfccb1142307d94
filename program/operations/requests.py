"""What logs may say of a request: a number, and the pattern of its address."""

from typing import Any, Final

from django.conf import settings

REQUEST_ID: Final = "fledge.request_id"
NO_ROUTE: Final = "no such address"


def request_id(request: Any) -> str:
    """The number that the page of a fault shows; "" outside requests."""
    return str(getattr(request, "META", {}).get(REQUEST_ID, ""))


def route_of(request: Any) -> str:
    """The pattern that an address matched, as `urls.py` has it; never the address, which may carry
    a key or name a child."""
    match = getattr(request, "resolver_match", None)
    if match is not None:
        return f"/{match.route}"
    if getattr(request, "path", "").startswith(settings.STATIC_URL):
        return str(settings.STATIC_URL)
    return NO_ROUTE
