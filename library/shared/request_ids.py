"""The number of a request, which its log line, the page of a fault and what it changed all say."""

from typing import Any, Final

REQUEST_ID: Final = "fledge.request_id"


def request_id(request: Any) -> str:
    """Empty outside of requests."""
    return str(getattr(request, "META", {}).get(REQUEST_ID, ""))
