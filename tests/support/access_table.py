"""Who may open which address, as a page: from the table in `addresses.py`, which `tests/contracts`
holds against every address as everybody, and from the doors of the views."""

from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path
from typing import Any, Final

from athletes.models import User
from tests.support.addresses import ALLOWED, PUBLIC, ROUTES, Route, Row
from tests.support.scene import ANONYMOUS, ROLES

PAGE: Final = Path(__file__).resolve().parents[2] / "program" / "docs" / "who-may-open-what.md"
COLUMNS: Final = {
    ANONYMOUS: "signed out",
    "guardian": "guardian",
    "athlete": "young athlete",
    "coach": "coach",
    "head_coach": "head coach",
    "welfare_officer": "welfare officer without a child",
}
HEAD: Final = """# Who may open what

Written by `uv run python -m tests.write_access_table`; a change by hand is undone by the next. It
says what `tests/support/addresses.py` allows, and `tests/contracts/test_every_address.py` asks for
every address as everybody, with their own things, with another cohort's, and with none: whoever may
not gets the one 404 of a page that does not exist, and signed out is asked to sign in.

*opens* is looking at it, *sends* is doing something there. *own* are a coach's cohorts, a
guardian's children, a young athlete's self, and what somebody made themselves; *all* is
everybody's. A coach who is a guardian, too, has the *own* of both. Where an address names nothing,
it is a page of one's own, and what it shows goes through `visible_to`. An address with a key in it
(an invitation, a calendar, the stopping of mails) opens to whoever holds the key.
"""


def page() -> str:
    routes = sorted(ROUTES.values(), key=lambda route: (_station(route), route.path, route.name))
    return "\n".join([HEAD, *_tables(route for route in routes if route.name in ALLOWED)])


def _tables(routes: Iterator[Route]) -> Iterator[str]:
    for station, there in groupby(routes, _station):
        yield f"## {station}\n"
        yield f"| address | {' | '.join(COLUMNS.values())} |"
        yield "|---" * (len(COLUMNS) + 1) + "|"
        lines = (f"| `{each.path}` | {' | '.join(_cells(ALLOWED[each.name]))} |" for each in there)
        yield from dict.fromkeys(lines)  # some addresses have two names
        yield ""


def _cells(row: Row) -> list[str]:
    return [_may(row, role) for role in COLUMNS]


def _station(route: Route) -> str:
    """The package whose view it is."""
    module = route.view.__module__.split(".")
    if module[0] == "allauth":
        return "Signing in"
    return "/".join(module[:2] if module[0] == "program" else module[:1])


def _may(row: Row, role: str) -> str:
    methods = {"opens": "GET", "sends": "POST"}
    may = [
        word
        for word, method in methods.items()
        if role in row.door and row.allowed(method, role, htmx=False)
    ]
    if not may:
        return "–"
    return f"{', '.join(may)} {_whose(row, role)}".strip()


def _whose(row: Row, role: str) -> str:
    if not row.ids:
        return ""
    if row.door == PUBLIC:
        return "with its key"
    return "all" if role in row.foreign_for else "own"


def let_in_by_the_door(view: Callable[..., Any]) -> frozenset[str]:
    """The roles that the view's decorators let in. What a view asks for itself narrows that."""
    doors = list(_doors(view))
    if not doors:
        return frozenset({ANONYMOUS, *ROLES})
    return frozenset(role for role in ROLES if all(door(_of(role)) for door in doors))


def _of(role: str) -> User:
    """Being a welfare officer is no role: the one who visits has a guardian's account."""
    return User(role="guardian" if role == "welfare_officer" else role)


def _doors(view: Any) -> Iterator[Callable[[User], bool]]:
    while view is not None:
        if "may_enter" in vars(view):
            yield view.may_enter
        view = getattr(view, "__wrapped__", None)
