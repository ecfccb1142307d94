"""What every page knows: the way about, by role. Costs no query."""

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse


@dataclass(frozen=True)
class NavEntry:
    label: str
    url: str
    current: bool


COACH_PAGES = (
    ("This week", "program:week"),
    ("Blocks", "program:blocks"),
    ("Library", "library:list"),
    ("Children", "athletes:children"),
    ("Review", "program:review"),
)


def _entry(label: str, name: str, path: str) -> NavEntry:
    url = reverse(name)
    return NavEntry(label, url, current=path.startswith(url))


def navigation(request: HttpRequest) -> dict[str, object]:
    user = getattr(request, "user", None)
    pages = COACH_PAGES if getattr(user, "is_coach", False) else ()
    return {
        "demo": settings.DEMO,
        "nav": [_entry(label, name, request.path) for label, name in pages],
    }
