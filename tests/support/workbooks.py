"""Workbooks to import: as openpyxl writes them, and by hand what it would not write."""

from collections.abc import Iterable
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

from openpyxl import Workbook

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
DOCUMENT = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml"

TYPES, PACKAGE_RELATED = "[Content_Types].xml", "_rels/.rels"
WORKBOOK, WORKBOOK_RELATED = "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
SHEET, STRINGS, STYLES = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml"

DECLARATION = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'
HEADINGS = ("given name", "family initial", "birth date")


def saved(book: Workbook) -> bytes:
    file = BytesIO()
    book.save(file)
    return file.getvalue()


def filled(*rows: Iterable[object]) -> Workbook:
    book = Workbook()
    for row in rows:
        book.active.append(list(row))
    return book


def workbook(*rows: Iterable[object]) -> bytes:
    """A workbook whose one sheet has the headings and these rows."""
    return saved(filled(HEADINGS, *rows))


def packed(parts: dict[str, str | bytes], packing: int = ZIP_DEFLATED) -> bytes:
    file = BytesIO()
    with ZipFile(file, "w", packing) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return file.getvalue()


def unpacked(content: bytes) -> dict[str, bytes]:
    with ZipFile(BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def with_parts(parts: dict[str, str | bytes]) -> bytes:
    """A workbook with these parts in place of its own, or beside them."""
    return packed(unpacked(as_excel_saves_it()) | parts)


def sheet_of(rows: str, after: str = "") -> bytes:
    """A workbook by hand: the XML of its rows, and of what comes after them."""
    return packed(by_hand(rows, after))


def by_hand(rows: str = "", after: str = "") -> dict[str, str]:
    sheet = f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData>{after}</worksheet>'
    return {
        TYPES: types(f"{SPREADSHEET}.sheet.main+xml"),
        PACKAGE_RELATED: related(officeDocument="xl/workbook.xml"),
        WORKBOOK: book('<sheet name="Squad" sheetId="1" r:id="worksheet"/>'),
        WORKBOOK_RELATED: related(worksheet="worksheets/sheet1.xml"),
        SHEET: sheet,
    }


def as_excel_saves_it() -> bytes:
    """By hand, too: one child, with texts in a part of their own and the birth date in a style."""
    shared = (*HEADINGS, "Mira", "T")
    first = "".join(f'<c r="{letter}1" t="s"><v>{n}</v></c>' for n, letter in enumerate("ABC"))
    second = (
        '<c r="A2" t="s"><v>3</v></c><c r="B2" t="s"><v>4</v></c><c r="C2" s="1"><v>42170</v></c>'
    )
    strings = "".join(f"<si><t>{words}</t></si>" for words in shared)
    styles = '<cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs>'
    parts = by_hand(row(1, first) + row(2, second)) | {
        WORKBOOK_RELATED: related(
            worksheet="worksheets/sheet1.xml",
            sharedStrings="sharedStrings.xml",
            styles="styles.xml",
        ),
        STRINGS: f'<sst xmlns="{MAIN}">{strings}</sst>',
        STYLES: f'<styleSheet xmlns="{MAIN}">{styles}</styleSheet>',
    }
    return packed({name: DECLARATION + part for name, part in parts.items()})


def types(of_workbook: str) -> str:
    override = f'<Override PartName="/{WORKBOOK}" ContentType="{of_workbook}"/>'
    return f'<Types xmlns="{PACKAGE}/content-types">{override}</Types>'


def book(sheets: str, before: str = "") -> str:
    return (
        f'<workbook xmlns="{MAIN}" xmlns:r="{DOCUMENT}">{before}<sheets>{sheets}</sheets>'
        "</workbook>"
    )


def related(**targets: str) -> str:
    """Each points to a part by the last word of its type, which is its id, too."""
    each = "".join(
        f'<Relationship Id="{kind}" Type="{DOCUMENT}/{kind}" Target="{target}"/>'
        for kind, target in targets.items()
    )
    return f'<Relationships xmlns="{PACKAGE}/relationships">{each}</Relationships>'


def row(number: int, *cells: str) -> str:
    return f'<row r="{number}">{"".join(cells)}</row>'


def text(reference: str, words: str) -> str:
    return f'<c r="{reference}" t="inlineStr"><is><t>{words}</t></is></c>'


def headings() -> str:
    return row(
        1, *(text(f"{letter}1", words) for letter, words in zip("ABC", HEADINGS, strict=True))
    )
