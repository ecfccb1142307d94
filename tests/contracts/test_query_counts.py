"""No page takes more than fourteen queries, and none takes more when there is more of anything.

Every address that answers to GET is counted for everyone who may enter, twice: in a club with a
little of everything, and in one with several times as much (`growing_up.py`). A new address is
counted as soon as it has its row in `addresses.py`.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from django.db import connection

from tests.support import scene as club
from tests.support.addresses import ALLOWED, TABLED
from tests.support.asking import OWN, address_of
from tests.support.growing_up import grow
from tests.support.planning import (
    HTMX,
    MOST_QUERIES,
    MOST_QUERIES_ABOUT_CHILDREN,
    MOST_QUERIES_WITH_CHECKS,
    WRITES_WHO_LOOKED,
)
from tests.support.scene import ANONYMOUS, ROLES, Scene

pytestmark = pytest.mark.django_db

ABOUT_CHILDREN = (
    "program:review",
    "program:child_review",
    "program:child_day",
    "program:session_day",  # the same page
)
MOST = dict.fromkeys(ABOUT_CHILDREN, MOST_QUERIES_ABOUT_CHILDREN) | {
    "program:look": MOST_QUERIES_WITH_CHECKS,
    "program:week_ahead": MOST_QUERIES_WITH_CHECKS,
    "program:checks": MOST_QUERIES_WITH_CHECKS,
}
LOOKED_AT = [name for name in TABLED if ALLOWED[name].get]


@dataclass(frozen=True)
class Visit:
    """Somebody at an address, by htmx or not."""

    name: str
    role: str
    htmx: bool
    query: str

    def __str__(self) -> str:
        return f"{self.role}{' by htmx' if self.htmx else ''} {self.query}"


type Counts = dict[Visit, list[str]]


def visits() -> Iterator[Visit]:
    for name in LOOKED_AT:
        row = ALLOWED[name]
        for role in (ANONYMOUS, *ROLES):
            for query in ("", *row.queries) if role in row.door else ():
                yield Visit(name, role, False, query)
                if row.hx_get:
                    yield Visit(name, role, True, query)


def count(scene: Scene) -> Counts:
    """The queries of every visit.

    Postgres learns what it holds by itself, but not of a transaction that is still open, as this
    one is: without being told it plans for empty tables, and takes minutes. What is read once and
    kept, such as the library's snapshot, is read before, at one visit to each address.
    """
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    for visit in {visit.name: visit for visit in visits()}.values():
        queries_of(scene, visit)
    return {visit: queries_of(scene, visit) for visit in visits()}


def queries_of(scene: Scene, visit: Visit) -> list[str]:
    browser = scene.client(visit.role)
    address = address_of(scene, visit.name, visit.role, (OWN,) * len(ALLOWED[visit.name].ids))
    asked: list[str] = []

    # Django's own log of queries ends at 9,000 of them.
    def note(execute, sql, params, many, context):
        asked.append(str(sql))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        answer = browser.get(address + visit.query, headers=HTMX if visit.htmx else {})
        b"".join(answer)  # a file that is handed out is closed by being read
    assert answer.status_code in {200, 302}, (visit, answer.status_code)
    # What is read is written down at the first visit, and no more than once.
    read = next((sql for sql in asked if 'INTO "program_readbyfamily"' in sql), None)
    if read:
        asked.remove(read)
    return asked


@pytest.fixture(scope="module")
def counted(django_db_setup, django_db_blocker) -> Iterator[tuple[Counts, Counts]]:
    """Every visit's queries in the small club and in the large one."""
    with django_db_blocker.unblock(), club.scene() as scene:
        grow(scene, 1, "a")
        few = count(scene)
        grow(scene, 4, "b")
        yield few, count(scene)


@pytest.mark.parametrize("name", LOOKED_AT)
def test_a_page_takes_few_queries_and_no_more_for_more_of_everything(counted, name):
    few, many = counted
    wrong = []
    for visit in (each for each in few if each.name == name):
        before, after = few[visit], many[visit]
        if len(before) != len(after):
            wrong.append(f"{visit}: {len(before)} queries, then {len(after)}{more(before, after)}")
        elif len(after) > MOST.get(name, MOST_QUERIES) + writes_who_looked(after):
            wrong.append(f"{visit}: {len(after)} queries" + more([], after))
    assert wrong == [], "\n".join(wrong)


def writes_who_looked(asked: list[str]) -> int:
    """The one query of a page that reads nothing."""
    return min(WRITES_WHO_LOOKED, sum("INTO athletes_healthview" in sql for sql in asked))


def more(before: list[str], after: list[str]) -> str:
    """The tables that are asked more often."""
    extra = [_table(sql) for sql in after]
    for sql in before:
        if _table(sql) in extra:
            extra.remove(_table(sql))
    return f": {', '.join(extra)}"


def _table(sql: str) -> str:
    return sql.partition(" FROM ")[2].split(" ")[0].strip('"') or sql[:40]


def test_there_is_more_of_everything_in_the_large_club(counted):
    """The measure itself: a page that lists by asking for each row would be seen."""
    few, many = counted
    assert len(few) == len(many) > 100
    assert {len(queries) for queries in few.values()} - {0}
