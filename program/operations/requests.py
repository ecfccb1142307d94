"""What logs may say of a request besides its number: the pattern of its address."""

from typing import Any, Final

from django.conf import settings

NO_ROUTE: Final = "no such address"


def route_of(request: Any) -> str:
    """The pattern that an address matched, as `urls.py` has it; never the address, which may carry
    a key or name a child."""
    match = getattr(request, "resolver_match", None)
    if match is not None:
        return f"/{match.route}"
    if getattr(request, "path", "").startswith(settings.STATIC_URL):
        return str(settings.STATIC_URL)
    return NO_ROUTE
