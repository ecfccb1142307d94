"""Everything about one child, read as declared: for an export, and to say how much there is.

One query for each table, and one for each column that points elsewhere, however many rows.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import CharField, Count, Field, ManyToManyField, Model, QuerySet, Value
from django.utils import timezone

from athletes.models import Child, Placement, User
from athletes.models.consents import answers_of
from program.models import AssignedSlot, Slot
from program.privacy.declarations import OF_A_CHILD
from program.privacy.declaring import Held

type Cell = str | int | float | bool | list[Any] | dict[str, Any] | None
"""As JSON has it."""


@dataclass(frozen=True)
class Table:
    """What one table holds of the child; each row by column, in the order of the labels."""

    held: Held
    rows: list[dict[str, Cell]]

    @property
    def labels(self) -> list[str]:
        return list(self.held.exported.values())

    @property
    def cells(self) -> Iterator[list[str]]:
        """The rows as somebody reads them."""
        for row in self.rows:
            yield [in_words(value) for value in row.values()]


@dataclass(frozen=True)
class ChildData:
    child: Child
    tables: list[Table]

    @property
    def uploads(self) -> list[str]:
        """The names of its photos and clips."""
        return [
            str(name)
            for table in self.tables
            if table.held.upload
            for row in table.rows
            if (name := row[table.held.upload])
        ]


def data_of(child: Child, reader: User | None = None) -> ChildData:
    """All of it, or for a reader who is not of the family without what coaches do not see while the
    family does not agree."""
    answers = answers_of(child, timezone.localdate())
    is_family = reader is None or Child.objects.filter(pk=child.pk).family().contains(reader)
    tables = []
    for held in OF_A_CHILD:
        rows = _rows(held, child)
        if held.agreed and not is_family and not answers.agree_to(held.agreed):
            rows = _hidden(held, rows)
        tables.append(Table(held, rows))
    return ChildData(child, tables)


def _hidden(held: Held, rows: list[dict[str, Cell]]) -> list[dict[str, Cell]]:
    """Of rows with a file, only that."""
    return [row | {held.upload: ""} for row in rows] if held.upload else []


def counts_of(child: Child) -> list[tuple[Held, int]]:
    """How many rows each table holds of the child, where it holds any. One query."""
    first, *others = (_count(held, child) for held in OF_A_CHILD)
    counts = dict(first.union(*others, all=True).order_by())
    return [(held, counts[held.name]) for held in OF_A_CHILD if counts.get(held.name)]


def _count(held: Held, child: Child) -> QuerySet[Any]:
    rows = held.of_child(child).order_by().annotate(held=Value(held.name, CharField()))
    return rows.values("held").annotate(n=Count("pk")).values_list("held", "n")  # type: ignore[no-any-return]


def _rows(held: Held, child: Child) -> list[dict[str, Cell]]:
    """None of what is exported with no column: how many there are would tell, too."""
    fields: list[Any] = [held.model._meta.get_field(name) for name in held.exported]
    if not fields:
        return []
    rows: QuerySet[Any] = held.of_child(child)
    pointing = [each.name for each in fields if each.many_to_one or each.one_to_one]
    if pointing:
        rows = rows.select_related(*(deep for name in pointing for deep in _named_by(held, name)))
    rows = rows.prefetch_related(*(each.name for each in fields if each.many_to_many))
    return [{each.name: _value(row, each) for each in fields} for row in rows]


NAMED_BY: Mapping[type[Model], tuple[str, ...]] = {
    AssignedSlot: ("revision",),
    Placement: ("exercise__current", "pathway"),
    Slot: ("exercise__current",),
}
"""What a row needs to say its own name."""


def _named_by(held: Held, name: str) -> list[str]:
    target = held.model._meta.get_field(name).related_model
    if target.__name__ == "Exercise":  # type: ignore[union-attr]
        return [f"{name}__current"]
    return [name, *(f"{name}__{deep}" for deep in NAMED_BY.get(target, ()))]  # type: ignore[arg-type]


def _value(row: Model, field: "Field[Any, Any]") -> Cell:
    if isinstance(field, ManyToManyField):
        return sorted(str(each) for each in getattr(row, field.name).all())
    value = getattr(row, field.name)
    if isinstance(value, AssignedSlot):
        return value.revision.name
    if isinstance(value, Model):
        return str(value)
    if field.choices and value not in {None, ""}:
        return str(getattr(row, f"get_{field.name}_display")())
    return _plain(value)


def _plain(value: Any) -> Cell:
    match value:
        case dt.datetime():
            return value.isoformat(timespec="seconds")
        case dt.date() | UUID():
            return str(value)
        case Decimal():
            return float(value)
        case _:
            return value  # type: ignore[no-any-return]


def in_words(value: Cell) -> str:
    """As it stands in a cell."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case list():
            return ", ".join(in_words(each) for each in value)
        case dict():
            return "; ".join(f"{name}: {in_words(each)}" for name, each in value.items())
        case _:
            return str(value)
