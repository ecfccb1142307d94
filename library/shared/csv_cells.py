"""Cells of a CSV file that no spreadsheet takes for a formula. Imports no Django.

A cell that begins with one of these is one, and a formula of somebody's choice may send the others
elsewhere: OWASP, "CSV Injection".
"""

from typing import Final

BEGIN_A_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
MARK: Final = "'"
"""Before a cell, by which a spreadsheet takes it for a text."""


def as_text(cell: str) -> str:
    return MARK + cell if cell.startswith(BEGIN_A_FORMULA) else cell


def as_meant(cell: str) -> str:
    """What `as_text` was given."""
    bare = cell.removeprefix(MARK)
    return bare if bare.startswith(BEGIN_A_FORMULA) else cell
