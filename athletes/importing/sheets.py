"""The cells of one sheet of a workbook as texts, as CSV would have them. Imports no Django.

openpyxl reads them, imported once there are some. What it is given is a new workbook of that sheet
alone, made of parts that were gone through: so it unpacks nothing unmeasured, and fails at no
chart, picture or link that nobody asked for.
"""

import datetime as dt
import re
import warnings
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from io import BytesIO
from itertools import islice
from typing import Final, NamedTuple
from zipfile import ZipFile

from athletes.importing.archives import TOO_LARGE, Archive, Element, Walk
from athletes.importing.tables import (
    LIMITS,
    MOST_BYTES,
    MOST_ROWS,
    NO_RESULT,
    Row,
    Unreadable,
)

MOST_TAGS: Final = 500_000
"""Of a sheet, about two for each cell: 5,000 rows of 50. Of its strings, two for each."""
MOST_TAGS_OF_STYLES: Final = 50_000
MOST_COLUMNS: Final = 702
"""A to ZZ."""
ROWS_OF_EXCEL: Final = 1_048_576
MOST_AREA: Final = 4_000_000
"""Rows that hold anything times columns: 5,000 of 702, or 80,000 prepared ones of 50."""
DAYS_UNTIL_1904: Final = 1462
FIRST_DAY, LAST_DAY = 20_000, 60_000
"""Numbers that may be days, counted from 1904: from 1958 to 2068."""
SPLIT: Final = f"{LIMITS} Split it and import the parts."

MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATED: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006"
TYPE: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml"
ROW, CELL, FORMULA, MERGED = (f"{MAIN} {name}" for name in ("row", "c", "f", "mergeCell"))
VALUES: Final = {f"{MAIN} v", f"{MAIN} is", FORMULA}

ONE_SHEET: Final = {
    "[Content_Types].xml": (
        f'<Types xmlns="{PACKAGE}/content-types">'
        f'<Override PartName="/xl/workbook.xml" ContentType="{TYPE}.sheet.main+xml"/>'
        f'<Override PartName="/xl/strings.xml" ContentType="{TYPE}.sharedStrings+xml"/>'
        "</Types>"
    ),
    "xl/_rels/workbook.xml.rels": (
        f'<Relationships xmlns="{PACKAGE}/relationships">'
        f'<Relationship Id="one" Type="{RELATED}/worksheet" Target="sheet.xml"/>'
        "</Relationships>"
    ),
}
WORKBOOK: Final = (
    f'<workbook xmlns="{MAIN}" xmlns:r="{RELATED}"><workbookPr date1904="%d"/>'
    '<sheets><sheet name="one" sheetId="1" r:id="one"/></sheets></workbook>'
)
NO_STRINGS: Final = f'<sst xmlns="{MAIN}"/>'.encode()
NO_STYLES: Final = f'<styleSheet xmlns="{MAIN}"/>'.encode()

LETTERS: Final = re.compile(r"[A-Z]{1,3}(?=[1-9])")
MERGED_DOWN: Final = re.compile(r"([A-Z]{1,3})(\d+):[A-Z]{1,3}(\d+)$")
CONTROL: Final = re.compile(r"_x00[01][0-9A-F]_", re.IGNORECASE)
"""What Excel writes for a character that XML cannot hold, such as the end of a pasted line."""


class Parts(NamedTuple):
    """Names of the parts of an archive that a sheet needs to be read."""

    sheet: str
    strings: str | None
    styles: str | None


def read_sheet(archive: Archive, parts: Parts, *, from_1904: bool) -> list[Row]:
    """The rows that hold anything. Raises Unreadable, and anything else for a damaged sheet."""
    walk = SheetWalk()
    sheet = _gone_through(archive, parts.sheet, walk)
    if not walk.rows:
        return []
    if len(walk.rows) * walk.width > MOST_AREA:
        raise Unreadable(TOO_LARGE)
    strings, styles = NO_STRINGS, NO_STYLES
    if parts.strings:
        strings = _gone_through(archive, parts.strings, Walk(MOST_TAGS))
    if parts.styles:
        styles = _gone_through(archive, parts.styles, Walk(MOST_TAGS_OF_STYLES))
    values = _values(_packed(sheet, strings, styles, from_1904), walk)
    return _bounded(_rows(values, walk, from_1904))


def _gone_through(archive: Archive, part: str, walk: Walk) -> bytes:
    content = archive.read(part)
    walk.through(content)
    return content


def _packed(sheet: bytes, strings: bytes, styles: bytes, from_1904: bool) -> BytesIO:
    """A workbook of one sheet."""
    packed = BytesIO()
    with ZipFile(packed, "w") as workbook:
        for part, xml in ONE_SHEET.items():
            workbook.writestr(part, xml)
        workbook.writestr("xl/workbook.xml", WORKBOOK % from_1904)
        workbook.writestr("xl/sheet.xml", sheet)
        workbook.writestr("xl/strings.xml", strings)
        workbook.writestr("xl/styles.xml", styles)
    return packed


# What openpyxl does not tell


class SheetWalk(Walk):
    """Which rows hold anything, and how wide they are; which cells are formulas, and which are
    merged with those below.

    Formulas of texts are left out: their result may well be empty.
    """

    def __init__(self) -> None:
        super().__init__(MOST_TAGS)
        self.rows: set[int] = set()
        self.width = 0
        self.formulas: set[tuple[int, int]] = set()
        self.merged: dict[int, list[tuple[int, int]]] = defaultdict(list)
        """By the row it begins in: the column and the last row."""
        self._row = self._column = 0
        self._is_text = False

    def begin(self, element: Element) -> None:
        if element.name == ROW:
            self._begin_row(element.attributes.get("r"))
        elif element.name == CELL:
            self._begin_cell(element.attributes)
        elif element.name in VALUES:
            self._fill(is_formula=element.name == FORMULA)
        elif element.name == MERGED:
            self._merge(element.attributes["ref"])

    def _begin_row(self, number: str | None) -> None:
        """openpyxl would leave out a row that stands too high, without a word."""
        row = int(number) if number else self._row + 1
        if not self._row < row <= ROWS_OF_EXCEL:
            raise ValueError(f"row {row} after row {self._row}")
        self._row, self._column = row, 0

    def _begin_cell(self, attributes: Mapping[str, str]) -> None:
        reference = attributes.get("r")
        self._column = _column(reference) if reference else self._column + 1
        self._is_text = attributes.get("t") == "str"

    def _fill(self, *, is_formula: bool) -> None:
        if self._column > MOST_COLUMNS:
            raise Unreadable(
                f"Row {self._row} has a cell far to the right, beyond column ZZ. Copy the columns "
                "that are needed into a new workbook."
            )
        self.rows.add(self._row)
        self.width = max(self.width, self._column)
        if is_formula and not self._is_text:
            self.formulas.add((self._row, self._column))

    def _merge(self, reference: str) -> None:
        found = MERGED_DOWN.match(reference)
        if found and int(found[3]) > int(found[2]):
            self.merged[int(found[2])].append((_column(reference), int(found[3])))


def _column(reference: str) -> int:
    """ "AB12" as 28."""
    found = LETTERS.match(reference)
    if not found:
        raise ValueError(f"no cell: {reference}")
    column = 0
    for letter in found[0]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return column


# Rows


def _values(workbook: BytesIO, walk: SheetWalk) -> Iterator[tuple[int, Iterable[object]]]:
    """What openpyxl reads in the cells of each row that is filled, with its number."""
    from openpyxl import load_workbook

    # Its warnings tell what stands in a cell, and a log must not.
    warnings.filterwarnings("ignore", module="openpyxl")
    sheet = load_workbook(workbook, read_only=True, data_only=True).worksheets[0]
    sheet.reset_dimensions()
    rows = sheet.iter_rows(max_col=walk.width, values_only=True)
    numbered = enumerate(islice(rows, max(walk.rows)), start=1)
    return ((number, values) for number, values in numbered if number in walk.rows)


def _rows(
    filled: Iterable[tuple[int, Iterable[object]]], walk: SheetWalk, from_1904: bool
) -> Iterator[Row]:
    """The rows that hold anything. Cells that are merged with one above them say the same."""
    merged: dict[int, tuple[int, str]] = {}
    for number, values in filled:
        texts = [
            NO_RESULT
            if value is None and (number, column) in walk.formulas
            else _text(value, from_1904)
            for column, value in enumerate(values, start=1)
        ]
        for column, last in walk.merged.get(number, ()):
            if column <= walk.width:
                merged[column - 1] = (last, texts[column - 1])
        if any(texts):
            yield Row(number, _completed(texts, number, merged))


def _completed(
    texts: list[str], number: int, merged: Mapping[int, tuple[int, str]]
) -> tuple[str, ...]:
    for place, (last, text) in merged.items():
        if number <= last and not texts[place]:
            texts[place] = text
    while not texts[-1]:
        texts.pop()
    return tuple(texts)


def _bounded(rows: Iterable[Row]) -> list[Row]:
    """As many rows, and as much text, as CSV may hold."""
    kept = []
    size = 0
    for row in rows:
        kept.append(row)
        size += sum(map(len, row.cells))
        if len(kept) > MOST_ROWS + 1:
            raise Unreadable(f"There are more than {MOST_ROWS:,} rows on this sheet. {SPLIT}")
        if size > MOST_BYTES:
            raise Unreadable(f"There is too much text on this sheet. {SPLIT}")
    return kept


# Cells


def _text(value: object, from_1904: bool) -> str:
    """A day as 2015-06-15, with its time if it has one."""
    match value:
        case None:
            return ""
        case bool():
            return str(value).upper()
        case int() | float():
            return _number(value, from_1904)
        case dt.datetime():
            return str(value.date() if value.time() == dt.time() else value)
        case _:
            return CONTROL.sub(" ", str(value)).strip()


def _number(value: float, from_1904: bool) -> str:
    """With the digits Excel shows. A day that is not marked as one counts from 1900, as all such
    numbers are read later."""
    if from_1904 and FIRST_DAY <= value <= LAST_DAY:
        value += DAYS_UNTIL_1904
    return f"{value:.15g}"
