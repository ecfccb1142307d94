"""What the database recorded of a change, in words."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from django.utils import timezone

from athletes.models import RecordedChange
from library.shared.dates import date_in_words
from program.privacy.declarations import HELD
from program.privacy.declaring import Held

BY_TABLE: Final = {held.model._meta.db_table: held for held in HELD}
GONE: Final = {"athletes_growthconsent": "Agreement to be measured"}
"""Tables that are there no longer, of which something was recorded."""
NOTHING: Final = "nothing"
NOBODY: Final = "Fledge itself, or somebody not signed in"


@dataclass(frozen=True)
class ChangeInWords:
    """`details` say of each column what it said, and what it says now."""

    at: dt.datetime
    who: str
    request: str
    what: str
    details: tuple[str, ...]


def said_of(change: RecordedChange) -> ChangeInWords:
    """A `change` with `by`."""
    held = BY_TABLE.get(change.table)
    return ChangeInWords(
        change.at,
        _who(change),
        change.request,
        f"{held.what if held else GONE[change.table]}: {change.get_what_display()}",
        tuple(_details(change, held) if held else ()),
    )


def _who(change: RecordedChange) -> str:
    if change.by_id is None:
        return NOBODY
    return str(change.by or "Somebody who has left")


def _details(change: RecordedChange, held: Held) -> Iterator[str]:
    """What an export calls a column; of one that points elsewhere, only that it changed, since
    what it pointed to may be gone."""
    before, after = change.before or {}, change.after or {}
    for name in after or before:
        field: Any = next(each for each in held.model._meta.fields if each.attname == name)
        label = held.columns[field.name].label
        if not label:
            continue
        if field.is_relation:
            if change.what == RecordedChange.What.CHANGED:
                yield f"{label}: another one"
            continue
        said = [_value(field, row[name]) for row in (before, after) if row]
        if any(each != NOTHING for each in said):
            yield f"{label}: {', now '.join(said)}"


def _value(field: Any, stored: Any) -> str:
    """As the database's JSON has it."""
    value = field.to_python(stored)
    if value is None or value == "":
        return NOTHING
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    match value:
        case dt.datetime():
            return f"{timezone.localtime(value):%-d %B %Y, %H:%M}"
        case dt.date():
            return date_in_words(value)
        case bool():
            return "yes" if value else "no"
        case _:
            return f"“{value}”"
