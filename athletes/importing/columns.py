"""Which column of a table holds what, by its heading. Imports no Django."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from athletes.importing.tables import Row, Table, Unreadable


class Column(StrEnum):
    GIVEN_NAME = "given name"
    FAMILY_NAME = "family initial"
    BIRTH_DATE = "birth date"
    SEX = "sex"
    COHORT = "cohort"
    GUARDIAN = "guardian email"


REQUIRED: Final = (Column.GIVEN_NAME, Column.FAMILY_NAME, Column.BIRTH_DATE)
OTHER_HEADINGS: Final = {
    Column.GIVEN_NAME: ("first name", "forename", "given names", "first names"),
    Column.FAMILY_NAME: ("initial", "family name", "last name", "surname", "last initial"),
    Column.BIRTH_DATE: ("date of birth", "birthdate", "birthday", "dob", "born"),
    Column.SEX: ("gender", "girl or boy"),
    Column.COHORT: ("group", "team", "training group"),
    Column.GUARDIAN: (
        "guardian emails",
        "guardian",
        "parent email",
        "parent emails",
        "parent",
        "email",
    ),
}
COLUMN_OF: Final = {
    heading: column
    for column, others in OTHER_HEADINGS.items()
    for heading in (column.value, *others)
}


@dataclass(frozen=True)
class Columns:
    """Where each column stands, and the headings nobody asked for. Guardians may have several."""

    at: dict[Column, tuple[int, ...]]
    unused: tuple[str, ...]
    width: int

    def cell(self, cells: Sequence[str], column: Column) -> str:
        """What a row says in a column; of several, all that is said, one after the other."""
        places = self.at.get(column, ())
        return " ".join(cells[place] for place in places if place < len(cells)).strip()

    def narrow(self, table: Table) -> Table:
        """The table without the columns nobody asked for: what is not used is not kept. A row with
        too many cells stays recognisable as one."""
        places = sorted(place for places in self.at.values() for place in places)

        def used(cells: Sequence[str]) -> tuple[str, ...]:
            kept = tuple(cells[place] if place < len(cells) else "" for place in places)
            return (*kept, "…") if any(cells[self.width :]) else kept

        rows = tuple(Row(row.number, used(row.cells)) for row in table.rows)
        return replace(table, headings=used(table.headings), rows=rows)


def find_columns(headings: Sequence[str]) -> Columns:
    """Raises Unreadable if a column is missing or stands there twice."""
    at: dict[Column, tuple[int, ...]] = {}
    unused = []
    for place, heading in enumerate(headings):
        column = COLUMN_OF.get(_plain(heading))
        if column is None:
            unused.append(heading or f"column {place + 1}, without a heading")
            continue
        if column in at and column is not Column.GUARDIAN:
            first = headings[at[column][0]]
            raise Unreadable(
                f"Two columns are read as {column}: “{first}” and “{heading}”. Keep one of them."
            )
        at[column] = (*at.get(column, ()), place)
    missing = [column.value for column in REQUIRED if column not in at]
    if missing:
        found = ", ".join(f"“{heading}”" for heading in headings if heading)
        raise Unreadable(f"Missing: {', '.join(missing)}. Found: {found}.")
    return Columns(at, tuple(unused), len(headings))


def _plain(heading: str) -> str:
    """ "Date_of birth (dd/mm/yyyy)" as "date of birth"; "Guardian email 2" without its number."""
    without_notes = re.sub(r"\(.*?\)", " ", heading.casefold()).replace("e-mail", "email")
    words = re.sub(r"[^\w]+|_", " ", without_notes).split()
    return " ".join(words if len(words) == 1 else [w for w in words if not w.isdigit()])
