"""The files of a library folder as rows, each row knowing which of its fields are wrong."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

from library.loading.schema import complaints

ITEM_FILE = "items.toml"

type Kind = Literal["item", "pathway", "exercise", "step", "lateral"]


@dataclass(frozen=True)
class BadRow:
    """One thing wrong: in which file, in which of its rows, in which field, and what."""

    file: str
    row: str
    field: str
    why: str

    def __str__(self) -> str:
        return (
            f"{', '.join(part for part in (self.file, self.row, self.field) if part)}: {self.why}"
        )


@dataclass(frozen=True, eq=False)
class Row:
    """One table of a file, as written. `number` counts rows of its kind in the file from 1."""

    file: str
    kind: Kind
    number: int
    data: Mapping[str, Any]
    wrong: set[str] = field(default_factory=set)

    @property
    def name(self) -> str:
        """How a person finds the row again: an exercise by its slug, a step by its number."""
        if self.kind == "pathway":
            return "pathway"
        slug = self.data.get("slug")
        return f"{self.kind} {slug if isinstance(slug, str) and slug else self.number}"

    def sound(self, *fields: str) -> bool:
        """Whether all these fields are there and follow the schema."""
        return all(name in self.data and name not in self.wrong for name in fields)

    def bad(self, field_name: str, why: str) -> BadRow:
        return BadRow(self.file, self.name, field_name, why)


@dataclass(frozen=True)
class PathwayFile:
    """The rows of one file: a pathway, its exercises and how they follow each other."""

    name: str
    rows: tuple[Row, ...]

    def of(self, kind: Kind) -> list[Row]:
        return [row for row in self.rows if row.kind == kind]

    def linking_rows(self) -> list[Row]:
        """The steps and laterals of which both ends are named."""
        return [row for row in self.of("step") if row.sound("easier", "harder")] + [
            row for row in self.of("lateral") if row.sound("between")
        ]

    @cached_property
    def pathway(self) -> Row | None:
        return next(iter(self.of("pathway")), None)


@dataclass(frozen=True)
class Folder:
    """Everything read from a folder, and what the schema has to say against it.

    Whatever stands in an `unread` file is unknown, so that nobody can be blamed for naming it.
    """

    items: tuple[Row, ...]
    pathways: tuple[PathwayFile, ...]
    bad: tuple[BadRow, ...]
    unread: tuple[str, ...]

    def of(self, kind: Kind) -> list[Row]:
        return [row for file in self.pathways for row in file.of(kind)]


def read(folder: Path) -> Folder:
    """The rows of every TOML file in the folder, sound or not."""
    files = sorted(folder.glob("*.toml")) if folder.is_dir() else []
    if not files:
        return Folder((), (), (BadRow(str(folder), "", "", "holds no .toml file"),), ())
    items: tuple[Row, ...] = ()
    pathways: list[PathwayFile] = []
    bad: list[BadRow] = []
    unread: list[str] = []
    for path in files:
        try:
            data = tomllib.loads(path.read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            bad.append(BadRow(path.name, "", "", f"is not TOML in UTF-8: {error}"))
            unread.append(path.name)
            continue
        rows = tuple(_rows(path.name, data))
        bad += _held_to_the_schema(path.name, data, rows)
        if path.name == ITEM_FILE:
            items = rows
        else:
            pathways.append(PathwayFile(path.name, rows))
    return Folder(items, tuple(pathways), tuple(bad), tuple(unread))


def _rows(file: str, data: Mapping[str, Any]) -> Iterator[Row]:
    kinds: tuple[Kind, ...] = ("item", "pathway", "exercise", "step", "lateral")
    for kind in kinds:
        tables = data.get(kind, [])
        if kind == "pathway":
            tables = [tables]
        if not isinstance(tables, list):
            continue
        for number, table in enumerate(tables, start=1):
            if isinstance(table, dict):
                yield Row(file, kind, number, table)


def _held_to_the_schema(
    file: str, data: Mapping[str, Any], rows: tuple[Row, ...]
) -> Iterator[BadRow]:
    by_place = {(row.kind, row.number): row for row in rows}
    kind = "item_file" if file == ITEM_FILE else "pathway_file"
    for place, why in complaints(kind, data):
        row, rest = _row_at(place, by_place)
        if row is None:
            yield BadRow(file, "", " ".join(map(str, place)), why)
        else:
            row.wrong.add(str(rest[0]) if rest else "")
            yield row.bad(_field_name(rest), why)


def _row_at(
    place: tuple[str | int, ...], by_place: Mapping[tuple[Kind, int], Row]
) -> tuple[Row | None, tuple[str | int, ...]]:
    match place:
        case ("pathway", *rest):
            return by_place.get(("pathway", 1)), tuple(rest)
        case (str(kind), int(index), *rest):
            return by_place.get((kind, index + 1)), tuple(rest)  # type: ignore[arg-type]
        case _:
            return None, place


def _field_name(place: tuple[str | int, ...]) -> str:
    """ "faults 2 say" for the second fault's `say`."""
    return " ".join(str(part + 1) if isinstance(part, int) else part for part in place)
