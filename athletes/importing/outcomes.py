"""What becomes of each row of a table: a new child, one already here, or wrong, and why."""

import datetime as dt
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from django.core.exceptions import ValidationError

from athletes.importing.cells import (
    CellRefused,
    has_strokes,
    not_wrong,
    read_date,
    read_emails,
    read_sex,
    reads_both_ways,
)
from athletes.importing.columns import Column, Columns
from athletes.importing.tables import Row, Table
from athletes.models import Cohort
from athletes.models.children import check_birth_date
from athletes.names import NameRefused, given_name, initial_of, plain_upper

type Key = tuple[str, str, dt.date]


class Fate(StrEnum):
    NEW = "new"
    HERE = "here"
    WRONG = "wrong"


@dataclass(frozen=True)
class NewChild:
    """A child as a row describes it, its fields in the order of the columns."""

    given_name: str
    family_initial: str
    birth_date: dt.date
    sex: str
    cohort: Cohort
    guardians: tuple[str, ...]

    @property
    def key(self) -> Key:
        return key_of(self.given_name, self.family_initial, self.birth_date)


@dataclass(frozen=True)
class Fault:
    column: str
    message: str


TOO_MANY_CELLS = Fault(
    "the row", "More cells than headings. Perhaps a separator stands inside a name."
)


@dataclass(frozen=True)
class RowFate:
    """`said` are the cells by column, as they stood; `note` says why a row is already here, or
    what of a new child's row is left out."""

    number: int
    fate: Fate
    said: Mapping[Column, str]
    child: NewChild | None = None
    faults: tuple[Fault, ...] = ()
    note: str = ""

    @property
    def words(self) -> list[str]:
        return [cell for cell in self.said.values() if cell]


@dataclass(frozen=True)
class Reader:
    """What is needed to read a row: its columns, the day order, the day and the cohorts there are.

    `otherwise` is the cohort of a row that names none.
    """

    columns: Columns
    month_first: bool
    today: dt.date
    cohorts: Sequence[Cohort]
    otherwise: Cohort | None = None

    def read(self, row: Row) -> RowFate:
        said = {column: self.columns.cell(row.cells, column) for column in Column}
        if any(row.cells[self.columns.width :]):
            return RowFate(row.number, Fate.WRONG, said, faults=(TOO_MANY_CELLS,))
        faults: list[Fault] = []
        note = _why_without_sex(said[Column.SEX])
        child = self._child(said | {Column.SEX: ""} if note else said, faults)
        if child is None:
            return RowFate(row.number, Fate.WRONG, said, faults=tuple(faults))
        return RowFate(row.number, Fate.NEW, said, child=child, note=note)

    def _child(self, said: Mapping[Column, str], faults: list[Fault]) -> NewChild | None:
        """The child, or None with every fault of the row noted, not just the first."""
        readings: dict[Column, Callable[[str], Any]] = {
            Column.GIVEN_NAME: given_name,
            Column.FAMILY_NAME: initial_of,
            Column.BIRTH_DATE: self._birth_date,
            Column.SEX: read_sex,
            Column.COHORT: self._cohort,
            Column.GUARDIAN: read_emails,
        }
        read = {}
        for column, reading in readings.items():
            try:
                read[column] = reading(not_wrong(said[column]))
            except (CellRefused, NameRefused) as refused:
                faults.append(Fault(column.value, str(refused)))
            except ValidationError as refused:
                faults.append(Fault(column.value, " ".join(refused.messages)))
        return None if faults else NewChild(*read.values())

    def _birth_date(self, text: str) -> dt.date:
        birth_date = read_date(text, month_first=self.month_first)
        check_birth_date(birth_date, self.today)
        return birth_date

    def _cohort(self, text: str) -> Cohort:
        if not text and self.otherwise:
            return self.otherwise
        if not text:
            raise CellRefused("No cohort is named, and none was chosen for such rows.")
        wanted = _loose(text)
        for cohort in self.cohorts:
            if _loose(cohort.name) == wanted:
                return cohort
        yours = ", ".join(cohort.name for cohort in self.cohorts) or "none yet"
        raise CellRefused(f"“{text[:60]}” is not one of your cohorts. Yours: {yours}.")


def _why_without_sex(text: str) -> str:
    """Why the sex is left out, empty where it is understood: no child stays out for a column that
    nobody has to fill."""
    try:
        read_sex(not_wrong(text))
    except CellRefused as refused:
        return f"added without the sex: {refused}"
    return ""


def key_of(given_name: str, family_initial: str, birth_date: dt.date) -> Key:
    """Two children of one key are one child, as the database sees it."""
    return plain_upper(given_name), plain_upper(family_initial), birth_date


def may_be(row: Row, columns: Columns, key: Key) -> bool:
    """Whether a row is of the child with that key, or cannot be told from one: its name stands
    there, and neither the initial nor the day, however that is read, says that it is another."""
    name, initial, birth_date = key
    if name not in plain_upper(columns.cell(row.cells, Column.GIVEN_NAME)):
        # Perhaps the cells of the row have moved.
        return name in {plain_upper(cell.strip()) for cell in row.cells}
    initials = {initial, None}
    days = {birth_date, None}
    return _initial_in(columns.cell(row.cells, Column.FAMILY_NAME)) in initials and not (
        days.isdisjoint(_days_in(columns.cell(row.cells, Column.BIRTH_DATE)))
    )


def _initial_in(text: str) -> str | None:
    try:
        return plain_upper(initial_of(text))
    except NameRefused:
        return None


def _days_in(text: str) -> set[dt.date | None]:
    """Every day that it may say; None where it says none."""
    days: set[dt.date | None] = set()
    for month_first in (False, True):
        try:
            days.add(read_date(text, month_first=month_first))
        except CellRefused:
            days.add(None)
    return days if days == {None} else days - {None}


def settle(read: Iterable[RowFate], known: Collection[Key]) -> list[RowFate]:
    """The same rows, those of children already here or higher up in the file marked as such."""
    first_at: dict[Key, int] = {}
    settled = []
    for row in read:
        if row.child is None:
            settled.append(row)
        elif row.child.key in known:
            settled.append(replace(row, fate=Fate.HERE, note="already here"))
        elif row.child.key in first_at:
            note = f"the same child as in row {first_at[row.child.key]}"
            settled.append(replace(row, fate=Fate.HERE, note=note))
        else:
            first_at[row.child.key] = row.number
            settled.append(row)
    return settled


@dataclass(frozen=True)
class DayOrder:
    """How many dates need to be told whether the day or the month comes first; an example of
    those that would read both ways."""

    asked: int
    both_ways: int
    example: str


def day_order(table: Table, columns: Columns) -> DayOrder:
    dates = [columns.cell(row.cells, Column.BIRTH_DATE) for row in table.rows]
    both = [text for text in dates if reads_both_ways(text)]
    return DayOrder(sum(map(has_strokes, dates)), len(both), both[0] if both else "")


def _loose(name: str) -> str:
    return " ".join(name.casefold().split())
