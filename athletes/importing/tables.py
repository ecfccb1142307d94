"""A table of texts, what it may hold at most, and a file that is none. Imports no Django."""

from dataclasses import dataclass
from typing import Any, Final

MOST_BYTES: Final = 2 * 1024 * 1024
MOST_ROWS: Final = 5000
LIMITS: Final = f"At most {MOST_ROWS:,} children and 2 MB in one file."
UTF_8: Final = "UTF-8"
NO_RESULT: Final = "#FORMULA!"
"""What is read in a workbook where a formula was never worked out; like Excel’s own #VALUE!"""


class Unreadable(ValueError):
    """The file cannot be taken for a table; the message says why and what to do."""


@dataclass(frozen=True)
class Row:
    """`number` counts as a spreadsheet does: the headings are usually 1."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Table:
    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    encoding: str
    note: str = ""
    """What the coach should know of how the file was read."""

    def to_json(self) -> dict[str, Any]:
        return {
            "headings": self.headings,
            "rows": [[row.number, *row.cells] for row in self.rows],
            "encoding": self.encoding,
            "note": self.note,
        }

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> "Table":
        rows = tuple(Row(number, tuple(cells)) for number, *cells in kept["rows"])
        return cls(tuple(kept["headings"]), rows, kept["encoding"], kept.get("note", ""))
