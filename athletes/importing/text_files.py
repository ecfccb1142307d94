"""CSV and its kin, in whatever letters and separators a program wrote them. Imports no Django."""

import csv
from collections.abc import Sequence
from io import StringIO
from typing import Final

from athletes.importing.tables import UTF_8, Row, Unreadable
from library.shared.csv_cells import as_meant

PDF: Final = (
    "This is a PDF. What is needed is a CSV file, as a spreadsheet saves it, or an Excel workbook."
)
NO_TEXT: Final = "This is not a text file. Save the table as CSV UTF-8."
SEPARATORS: Final = (",", ";", "\t", "|")
UTF_16, WINDOWS = "UTF-16", "Windows-1252"


def read_text(content: bytes) -> tuple[list[Row], str]:
    """The rows that hold anything, and how their letters were read. Raises Unreadable."""
    text, encoding = _decoded(content)
    if "\0" in text:
        raise Unreadable(NO_TEXT)
    return _rows(text) if text.strip() else [], encoding


def _decoded(content: bytes) -> tuple[str, str]:
    if content.startswith(b"%PDF"):
        raise Unreadable(PDF)
    try:
        utf_16 = _utf_16(content)
        if utf_16:
            return content.decode(utf_16).removeprefix("\ufeff"), UTF_16
        if b"\0" in content:
            raise Unreadable(NO_TEXT)
        return content.decode("utf-8-sig"), UTF_8
    except UnicodeDecodeError:
        return _as_windows(content)


def _utf_16(content: bytes) -> str:
    """Which UTF-16 it is, by its mark or, without one, by where its empty bytes stand."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    start = content[:2000]
    pairs = len(start) // 2
    if pairs and start[1::2].count(0) > 0.7 * pairs:
        return "utf-16-le"
    if pairs and start[0::2].count(0) > 0.7 * pairs:
        return "utf-16-be"
    return ""


def _as_windows(content: bytes) -> tuple[str, str]:
    try:
        return content.decode("cp1252"), WINDOWS
    except UnicodeDecodeError:
        raise Unreadable(
            "The letters of this file cannot be read. Save the table again as CSV UTF-8."
        ) from None


def _rows(text: str) -> list[Row]:
    """The rows that hold anything, with leading and trailing spaces taken off their cells."""
    text, separator = _separator(text)
    try:
        read = list(csv.reader(StringIO(text, newline=""), delimiter=separator))
    except csv.Error as error:
        raise Unreadable(f"This file is not a table that can be read: {error}.") from error
    numbered = [
        Row(number, tuple(as_meant(cell.strip()).strip() for cell in cells))
        for number, cells in enumerate(read, start=1)
    ]
    return [row for row in numbered if any(row.cells)]


def _separator(text: str) -> tuple[str, str]:
    """The text without Excel's own line about it, and what stands between its cells."""
    first, _, rest = text.partition("\n")
    said = first.strip().strip('"').lower().removeprefix("sep=")
    if first.strip().strip('"').lower().startswith("sep=") and said in SEPARATORS:
        return rest, said
    heading = next(line for line in text.splitlines() if line.strip())
    return text, max(SEPARATORS, key=lambda separator: _cells(heading, separator))


def _cells(line: str, separator: str) -> int:
    cells: Sequence[str] = next(csv.reader([line], delimiter=separator), [])
    return len(cells)
