"""An Excel workbook (.xlsx) as rows of texts: which kind it is, and its first sheet. Imports no
Django.

Of a workbook only that sheet is unpacked, and what its cells need.
"""

import posixpath
import re
from dataclasses import dataclass
from typing import Final

from athletes.importing.archives import LOCKED, Archive, Element, Listing
from athletes.importing.sheets import MAIN, RELATED, Parts, read_sheet
from athletes.importing.tables import Row, Unreadable

ZIP: Final = (b"PK\x03\x04", b"PK\x05\x06")
COMPOUND_FILE: Final = b"\xd0\xcf\x11\xe0"
"""What Excel wrote until 2003, and still puts around a workbook with a password."""
ENCRYPTED_PACKAGE: Final = "EncryptedPackage".encode("utf-16-le")

SAVE_AS: Final = "In Excel, choose Save as, then Excel Workbook (.xlsx)"
OLD: Final = f"This is an old Excel workbook. {SAVE_AS}."
OTHER_KIND: Final = f"This kind of Excel workbook cannot be read. {SAVE_AS}."
MACROS: Final = f"This workbook holds macros. {SAVE_AS}, which leaves them out."
NO_WORKBOOK: Final = (
    "This is not an Excel workbook. Save the table as Excel Workbook (.xlsx) or CSV UTF-8."
)
DAMAGED: Final = (
    "This workbook is damaged. Open it in Excel, save it anew and import that, or save the table "
    "as CSV UTF-8."
)
ALL_HIDDEN: Final = "Every sheet of this workbook is hidden. Show the one with the children."
TO_THE_FRONT: Final = "Move the sheet with the children to the front."

TYPES: Final = "[Content_Types].xml"
STRICT: Final = "http://purl.oclc.org/ooxml/spreadsheetml/main"
MACRO: Final = re.compile(r"macro|vbaproject", re.IGNORECASE)
MOST_TAGS: Final = 50_000


def is_workbook(content: bytes) -> bool:
    """Whether it is a workbook or packed like one, by how it begins."""
    return content.startswith((*ZIP, COMPOUND_FILE))


def read_workbook(content: bytes) -> tuple[list[Row], str]:
    """The rows of the first sheet that hold anything; a sentence if there are other sheets.

    Raises Unreadable.
    """
    if content.startswith(COMPOUND_FILE):
        raise Unreadable(LOCKED if ENCRYPTED_PACKAGE in content else OLD)
    try:
        return _read(Archive(content))
    except Unreadable:
        raise
    except Exception as error:  # zipfile, expat and openpyxl raise a dozen kinds and promise none
        raise Unreadable(DAMAGED) from error


def _read(archive: Archive) -> tuple[list[Row], str]:
    workbook = _workbook(archive)
    elements = _elements(archive, workbook)
    _refuse_other_kinds(elements[0])
    _refuse_macros(archive)
    related = _related(archive, workbook)
    sheets = [element.attributes for element in elements if _is_shown(element)]
    if not sheets:
        raise Unreadable(ALL_HIDDEN)
    name, first = sheets[0]["name"], related[sheets[0][f"{RELATED} id"]]
    if first.kind != "worksheet":
        raise Unreadable(f"The first sheet, “{name}”, is a chart. {TO_THE_FRONT}")
    kinds = {each.kind: each.part for each in related.values()}
    rows = read_sheet(
        archive,
        Parts(first.part, kinds.get("sharedStrings"), kinds.get("styles")),
        from_1904=any(map(_counts_from_1904, elements)),
    )
    if not rows:
        raise Unreadable(f"The sheet “{name}” is empty. {TO_THE_FRONT}")
    return rows, f"Read from “{name}”, the first of {len(sheets)} sheets." if sheets[1:] else ""


def _workbook(archive: Archive) -> str:
    """The part that lists the sheets, or what stands in its place in another document."""
    if TYPES not in archive or _relations_of("") not in archive:
        raise Unreadable(NO_WORKBOOK)
    package = _related(archive, "").values()
    document = next((each.part for each in package if each.kind == "officeDocument"), "")
    if document.endswith(".bin"):
        raise Unreadable(OTHER_KIND)
    if not document.endswith(".xml"):
        raise Unreadable(NO_WORKBOOK)
    return document


def _refuse_other_kinds(root: Element) -> None:
    if root.name.startswith(STRICT):
        raise Unreadable(OTHER_KIND)
    if root.name != f"{MAIN} workbook":
        raise Unreadable(NO_WORKBOOK)


def _refuse_macros(archive: Archive) -> None:
    types = [each.attributes.get("ContentType", "") for each in _elements(archive, TYPES)]
    if any(map(MACRO.search, types)) or any("vbaproject" in part for part in archive):
        raise Unreadable(MACROS)


def _is_shown(element: Element) -> bool:
    return (
        element.name == f"{MAIN} sheet" and element.attributes.get("state", "visible") == "visible"
    )


def _counts_from_1904(element: Element) -> bool:
    said = element.attributes.get("date1904", "")
    return element.name == f"{MAIN} workbookPr" and said in {"1", "true"}


# Parts and what they point to


@dataclass(frozen=True)
class Related:
    """A part that another one points to; its kind is the last word of its type."""

    kind: str
    part: str


def _related(archive: Archive, part: str) -> dict[str, Related]:
    """What a part points to, by the ids it uses; the part without a name is the package."""
    folder = posixpath.dirname(part)
    return {
        said["Id"]: Related(
            said["Type"].rpartition("/")[2],
            posixpath.normpath(posixpath.join("/", folder, said["Target"])).lstrip("/"),
        )
        for name, said in _elements(archive, _relations_of(part))
        if name.endswith(" Relationship") and said.get("TargetMode") != "External"
    }


def _relations_of(part: str) -> str:
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")


def _elements(archive: Archive, part: str) -> list[Element]:
    listing = Listing(MOST_TAGS)
    listing.through(archive.read(part))
    return listing.elements
