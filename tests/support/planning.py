"""Written sessions for tests, and the forms of the builder as a browser would send them."""

from html.parser import HTMLParser

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from program.build.forms import PartForm, SlotForm
from program.build.page import Builder
from program.models import Part, Session, Slot
from tests.support.factories import (
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)

HTMX = {"HX-Request": "true"}
MOST_QUERIES = 14
MOST_QUERIES_ABOUT_CHILDREN = 20
"""Of the review, a child's page and a family's day, which gather all that is known of children."""
MOST_QUERIES_WITH_CHECKS = 22
"""Of the week ahead and the page of checks, which hold many sessions against the checks, and of the
builder's panel, which does so with who gets what."""
WRITES_WHO_LOOKED = 1
"""Beside them, on a page about a child's health that a coach opens."""


def session_of(cohort, parts=1, slots=2, needing=True, **details) -> Session:
    """A session with parts of slots, each with an exercise of its own, needing something."""
    details.setdefault("block", BlockFactory(cohort=cohort))
    session = SessionFactory(**details)
    for position in range(parts):
        part = PartFactory(session=session, position=position, name=f"Part {position + 1}")
        for place in range(slots):
            name = f"Exercise {position + 1}{chr(97 + place)}"
            needs = [(f"a seat for {name}", [f"seat-{position}-{place}"])] if needing else []
            exercise = ExerciseFactory(revision__name=name, revision__needs=needs)
            SlotFactory(part=part, position=place, exercise=exercise)
    return session


def typed(row: Slot | Part, **changes) -> dict[str, object]:
    """What the row's form sends with these fields changed, as it is stored now."""
    row = type(row).objects.get(pk=row.pk)
    if isinstance(row, Slot):
        form = SlotForm(instance=row, revision=row.exercise.current)
        session = row.part.session
    else:
        form = PartForm(instance=row)
        session = row.session
    shown = {name: form[name].value() for name in form.fields}
    sent = {name: "" if value is None else value for name, value in shown.items()}
    return sent | dict(form.seen) | {"session_version": session.version} | changes


def url(name: str, session: Session, *row: object) -> str:
    return reverse(f"program:{name}", args=[session.pk, *row])


def queries_of(client, address: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200
    return len(captured)


def names_of(session: Session) -> list[list[str]]:
    """The names of the exercises, part by part."""
    parts = session.parts.prefetch_related("slots__exercise__current")
    return [[str(slot.exercise) for slot in part.slots.all()] for part in parts]


def builder_of(session: Session) -> Builder:
    return Builder(Session.objects.with_plan().get(pk=session.pk), [])


class _Ids(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.headings: list[str] = []

    def handle_starttag(self, tag, attrs) -> None:
        self.ids += [value for name, value in attrs if name == "id"]
        self.headings += [tag] if tag in {"h1", "main"} else []


def assert_well_made(html: str) -> None:
    """Ids once each, one main, one h1, and a title."""
    page = _Ids()
    page.feed(html)
    assert len(page.ids) == len(set(page.ids)), sorted(page.ids)
    assert sorted(page.headings) == ["h1", "main"]
    assert "<title>" in html
