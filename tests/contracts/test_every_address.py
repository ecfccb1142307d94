"""Every address there is answers everyone as the one table in `addresses.py` allows, and not
otherwise."""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

import pytest
from django.urls import reverse

from tests.support.addresses import ALLOWED, ROUTES, TABLED, Route, Row, routes
from tests.support.asking import (
    FOREIGN,
    MISSING,
    OWN,
    WHO_LOOKED,
    Answered,
    Request,
    address_of,
    ask,
)
from tests.support.health import not_written_down
from tests.support.scene import ANONYMOUS, ROLES, Scene

NO_SUCH_ADDRESS = "/there-is-no-such-address/"

# Headers of every answer, a refusal or not.
ALWAYS_SAID = {
    "Content-Security-Policy",
    "Cross-Origin-Opener-Policy",
    "Cross-Origin-Resource-Policy",
    "Referrer-Policy",
    "X-Content-Type-Options",
    "X-Frame-Options",
}
# What only the other half of the club holds.
STRANGERS = re.compile(
    r"Strangerschild|Stranger (block|session|today|monday|second)|Other (cohort|Parent|Coach)"
)


def combinations(scene: Scene, row: Row) -> Iterator[tuple[str, ...]]:
    """All own, all foreign, and all own but one that is foreign or missing."""
    own = (OWN,) * len(row.ids)
    yield own
    strangers = [kind for kind in row.ids if scene.has_foreign(kind)]
    if strangers:
        yield (FOREIGN,) * len(row.ids)
    for place, kind in enumerate(row.ids):
        yield (*own[:place], MISSING, *own[place + 1 :])
        if len(strangers) > 1 and kind in strangers:
            yield (*own[:place], FOREIGN, *own[place + 1 :])


def requests_to(scene: Scene, row: Row) -> Iterator[Request]:
    for role in (ANONYMOUS, *ROLES):
        for which in combinations(scene, row):
            if role not in row.door and not set(which) <= {OWN}:
                continue  # whoever does not pass the door is refused before anything is looked up
            for method in ("GET", "POST"):
                # A method that is not taken is refused before anything else is looked at.
                if row.allowed(method, role, htmx=False) or set(which) <= {OWN}:
                    yield Request(role, method, False, which)
                    # Which thing it names is looked up in one way, whoever sends it.
                    if set(which) in ({OWN}, {FOREIGN}, set()):
                        yield Request(role, method, True, which)


def expected(row: Row, request: Request) -> str:
    allowed = row.allowed(request.method, request.role, htmx=request.htmx)
    if allowed is None:
        return "405"
    if request.role not in row.door:
        return "sign in" if request.role == ANONYMOUS else "404"
    if set(request.which) <= {OWN}:
        return allowed
    if set(request.which) == {FOREIGN} and request.role in row.foreign_for:
        return allowed
    return "404"


def surprise(scene: Scene, name: str, request: Request, address: str) -> str:
    """What is wrong with the answer to a request; "" if nothing is."""
    row = ALLOWED[name]
    half = scene.foreign if set(request.which) == {FOREIGN} else scene.own
    answer = ask(scene, request, address, row.form(half))
    if bare := sorted(ALWAYS_SAID - set(answer.response.headers)):
        return f"no {bare}"
    wanted = expected(row, request)
    if wanted == "sign in":
        return wrong_with_asking_to_sign_in(answer, request, address)
    if answer.kind != wanted:
        return f"{answer.kind}, not {wanted}"
    if wanted == "404" and answer.said != told_of_nothing(scene, request):
        return "a 404 that tells more than that of an address that does not exist"
    is_answered = wanted not in {"404", "405"}
    may_write = request.method == "POST" and is_answered
    written = answer.written
    if is_answered and request.role in {"coach", "head_coach"}:
        # What a page about a child's health writes when it is shown, and nothing else does.
        written = tuple(table for table in written if table != WHO_LOOKED)
    if written and not may_write:
        return f"writes {written}"
    if may_write and row.writes and not written:
        return "writes nothing: give the row a body that does, or its refusals prove nothing"
    if is_answered and (unseen := not_written_down(scene, name, request.role, half, answer)):
        return unseen
    if request.role in {"coach", "guardian", "athlete"} and (told := STRANGERS.search(answer.body)):
        return f"tells of a stranger: {told[0]}"
    return ""


def told_of_nothing(scene: Scene, request: Request) -> tuple[Any, ...]:
    """What the same request gets at an address that does not exist; asked once."""
    same = replace(request, which=())
    if same not in scene.told_of_nothing:
        scene.told_of_nothing[same] = ask(scene, same, NO_SUCH_ADDRESS).said
    return scene.told_of_nothing[same]


def not_saved(answer: Answered) -> bool:
    """Whether somebody who sent a form signed out is told that it is not saved."""
    return (
        answer.response.status_code == 401
        and not answer.written
        and f'href="{reverse("account_login")}"' in answer.body
    )


def wrong_with_asking_to_sign_in(answer: Answered, request: Request, address: str) -> str:
    response, sign_in = answer.response, reverse("account_login")
    if request.htmx:
        asks = response.status_code == 401
    elif answer.response.wsgi_request.POST:
        return "" if not_saved(answer) else f"{answer.kind}, not told that it is not saved"
    else:
        asks = (
            response.headers.get("Location")
            == f"{sign_in}?{urlencode({'next': address}, safe='/')}"
        )
    if not asks or answer.body or answer.written:
        return f"{answer.kind} {response.headers.get('Location', '')}, not asked to sign in"
    return ""


def test_every_address_has_a_name_and_no_two_share_one():
    names = Counter(route.name for route in routes())
    nameless = [route.path for route in routes() if not route.name.rpartition(":")[2]]
    assert nameless == [], f"give these a name in their urls module: {nameless}"
    assert [name for name, count in names.items() if count > 1] == []


def test_every_address_has_a_row_in_the_table():
    missing = [route for name, route in ROUTES.items() if name not in ALLOWED]
    assert missing == [], "\n".join(how_to_add(route) for route in missing)


def how_to_add(route: Route) -> str:
    return (
        f"{route.path} is not in ALLOWED of tests/support/addresses.py. Say there who may enter "
        f'and what they get, as its head explains: "{route.name}": Row(door, ids for {route.parts})'
    )


def test_every_row_of_the_table_has_an_address():
    gone = sorted(ALLOWED.keys() - ROUTES.keys())
    assert gone == [], f"remove these rows from ALLOWED, their addresses are gone: {gone}"


def test_a_row_names_a_thing_for_each_part_of_its_address():
    counts = {name: (len(ALLOWED[name].ids), len(ROUTES[name].parts)) for name in TABLED}
    assert {name: pair for name, pair in counts.items() if pair[0] != pair[1]} == {}


@pytest.mark.parametrize("name", TABLED)
def test_an_address_answers_only_as_the_table_allows(scene, name):
    row = ALLOWED[name]
    wrong = []
    for request in requests_to(scene, row):
        address = address_of(scene, name, request.role, request.which)
        if found := surprise(scene, name, request, address):
            wrong.append(f"{request}: {found}")
    assert wrong == [], "\n".join([f"{len(wrong)} surprises at {ROUTES[name].path}", *wrong])
