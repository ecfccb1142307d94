"""Asking for an address of the club in `scene.py`, and what came of it."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db import connection, transaction
from django.urls import reverse

from tests.support.addresses import ALLOWED, FILE, GO, PAGE, PART
from tests.support.planning import HTMX
from tests.support.scene import Scene

OWN, FOREIGN, MISSING = "own", "foreign", "missing"

# What is different in two answers that say the same.
NOISE = re.compile(r'nonce="[^"]*"|[A-Za-z0-9]{64}')
WHO_LOOKED = "athletes_healthview"
WRITING = re.compile(r'^\s*(INSERT INTO|UPDATE|DELETE FROM)\s+"?(\w+)', re.IGNORECASE)
# Rows about being signed in, what is remembered of a request so that it is not done twice, that an
# officer looked, and what somebody of the family has read.
NOT_WRITTEN_ABOUT = {
    "athletes_signin",
    "program_idempotencykey",
    "program_concernlook",
    "program_readbyfamily",
}


@dataclass(frozen=True)
class Request:
    """Who asks for what: `which` says of each part of the address whose thing it names."""

    role: str
    method: str
    htmx: bool
    which: tuple[str, ...] = ()

    def __str__(self) -> str:
        by = " by htmx" if self.htmx else ""
        things = f" of {', '.join(self.which)}" if self.which else ""
        return f"{self.method}{by} as {self.role}{things}"


class Look(NamedTuple):
    """That somebody looked at a child's health, by their keys, as it was written down."""

    person: int
    child: int
    kind: str


@dataclass(frozen=True)
class Answered:
    response: Any
    written: tuple[str, ...]
    content: bytes  # read once: a file that is handed out is closed by being read
    looks: frozenset[Look] = frozenset()

    @property
    def kind(self) -> str:
        """In the words of the table."""
        answer = self.response
        if answer.status_code in {302, 303} or "HX-Redirect" in answer.headers:
            return GO
        if answer.status_code == 500:
            return f"500, {answer.exc_info[1]!r}"
        if answer.status_code != 200:
            return str(answer.status_code)
        if not answer.headers["Content-Type"].startswith("text/html"):
            return FILE
        return PAGE if self.body.lstrip().lower().startswith("<!doctype html") else PART

    @property
    def body(self) -> str:
        return self.content.decode(errors="replace")

    @property
    def said(self) -> tuple[Any, ...]:
        """All that can be told from it."""
        headers = {name for name in self.response.headers if name != "Content-Length"}
        return self.response.status_code, sorted(headers), NOISE.sub("", self.body)


def ask(
    scene: Scene, request: Request, address: str, body: dict[str, Any] | None = None
) -> Answered:
    """One request; whatever it writes is noted and taken back."""
    client = scene.client(request.role)
    headers = HTMX if request.htmx else {}
    with transaction.atomic(), noting_writes() as (written, looks):
        if request.method == "GET":
            answer = client.get(address, headers=headers)
        else:
            answer = (
                client.generic(request.method, address, headers=headers)
                if body is None
                else (client.post(address, **body, headers=headers))
            )
        transaction.set_rollback(True)
    return Answered(answer, tuple(written), b"".join(answer), frozenset(looks))


@contextmanager
def noting_writes() -> Iterator[tuple[list[str], list[Look]]]:
    """The tables that are written meanwhile, and who was written down as having looked."""
    tables: list[str] = []
    looks: list[Look] = []

    def note(execute, sql, params, many, context):
        found = WRITING.match(str(sql))
        if found and found[2] not in NOT_WRITTEN_ABOUT:
            tables.append(found[2])
        if found and found[2] == WHO_LOOKED and "children" in params:
            person, kind = params["person"], str(params["kind"])
            looks.extend(Look(person, child, kind) for child in params["children"])
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield tables, looks


def address_of(scene: Scene, name: str, role: str, which: tuple[str, ...]) -> str:
    ids = ALLOWED[name].ids
    return reverse(name, args=[scene.value(*each, role) for each in zip(ids, which, strict=True)])
