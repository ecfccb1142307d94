"""A file's bytes as a table of texts, whatever program wrote it. Imports no Django."""

from athletes.importing.tables import LIMITS, MOST_BYTES, MOST_ROWS, UTF_8, Table, Unreadable
from athletes.importing.text_files import read_text
from athletes.importing.workbooks import is_workbook, read_workbook


def read_table(content: bytes) -> Table:
    """Raises Unreadable for what is too large, empty or not a table."""
    if len(content) > MOST_BYTES:
        raise Unreadable(f"This file is too large. {LIMITS} Split it and import the parts.")
    if is_workbook(content):
        rows, note = read_workbook(content)
        encoding = UTF_8
    else:
        rows, encoding = read_text(content)
        note = ""
    if not rows:
        raise Unreadable("This file is empty.")
    headings, *filled = rows
    if not filled:
        raise Unreadable("There are headings in this file, and no child under them.")
    if len(filled) > MOST_ROWS:
        raise Unreadable(
            f"There are {len(filled):,} rows in this file. {LIMITS} Split it and import the parts."
        )
    return Table(headings.cells, tuple(filled), encoding, note)
