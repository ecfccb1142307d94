"""Excel workbooks as coaches have them, and as nobody should send them, read without a database."""

import csv
import datetime as dt
import io
import os
import struct
import subprocess
import sys
import time
import tracemalloc
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.chart import BarChart
from openpyxl.drawing.image import Image
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.workbook.defined_name import DefinedName
from PIL import Image as Picture

from athletes.importing.archives import MOST_PARTS, MOST_UNPACKED
from athletes.importing.cells import CellRefused, not_wrong, read_date
from athletes.importing.columns import find_columns
from athletes.importing.files import read_table
from athletes.importing.tables import MOST_BYTES, MOST_ROWS, Row, Unreadable
from tests.support.workbooks import (
    HEADINGS,
    PACKAGE_RELATED,
    SHEET,
    STRINGS,
    STYLES,
    TYPES,
    WORKBOOK,
    WORKBOOK_RELATED,
    as_excel_saves_it,
    book,
    by_hand,
    filled,
    headings,
    packed,
    related,
    row,
    saved,
    sheet_of,
    text,
    types,
    unpacked,
    with_parts,
    workbook,
)

PARTS = (SHEET, STRINGS, STYLES, WORKBOOK, WORKBOOK_RELATED, TYPES, PACKAGE_RELATED)
BORN = dt.date(2015, 6, 15)
MIRA = ("Mira", "T", "2015-06-15")


def cells(content: bytes) -> list[tuple[str, ...]]:
    return [row.cells for row in read_table(content).rows]


def refused_as(content: bytes, message: str) -> None:
    assert refusal(content) == message


def refusal(content: bytes) -> str:
    with pytest.raises(Unreadable) as refused:
        read_table(content)
    return str(refused.value)


# What a cell says


def as_csv(value: object) -> str:
    return str(value).upper() if isinstance(value, bool) else str(value)


printed = st.text(st.characters(codec="utf-8", categories=["L", "M", "N", "P", "S", "Zs"]))
written = st.one_of(
    printed.filter(lambda words: not words.startswith("=") and "_x" not in words),
    st.integers(-(10**14), 10**14),
    st.booleans(),
    st.dates(dt.date(1901, 1, 1), dt.date(2100, 12, 31)),
)


@given(st.lists(st.tuples(written, written, written, written), min_size=1, max_size=6))
def test_a_table_reads_alike_from_a_workbook_and_from_csv(rows):
    kept = (*HEADINGS, "cohort")
    text_file = io.StringIO()
    csv.writer(text_file).writerows([kept, *([as_csv(cell) for cell in row] for row in rows)])

    def read(content: bytes) -> tuple[Row, ...] | str:
        try:
            table = read_table(content)
        except Unreadable as refused:
            return str(refused)
        return find_columns(table.headings).narrow(table).rows

    assert read(saved(filled(kept, *rows))) == read(text_file.getvalue().encode())


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (BORN, "2015-06-15"),
        (dt.datetime(2015, 6, 15), "2015-06-15"),
        (dt.datetime(2015, 6, 15, 14, 30), "2015-06-15 14:30:00"),
        (42170, "42170"),
        (42170.0, "42170"),
        ("42170", "42170"),
        ("15/06/2015", "15/06/2015"),
        ("15 June 2015", "15 June 2015"),
    ],
)
def test_a_day_is_the_same_day_however_the_workbook_holds_it(value, said):
    assert cells(workbook(("Mira", "T", value))) == [("Mira", "T", said)]
    assert read_date(said) == BORN


def test_texts_and_formats_may_stand_in_parts_of_their_own_as_excel_writes_them():
    assert cells(as_excel_saves_it()) == [MIRA]


@pytest.mark.parametrize("value", [BORN, (BORN - dt.date(1904, 1, 1)).days])
def test_a_workbook_that_counts_from_1904_means_the_same_days(value):
    counting = filled(HEADINGS, ("Mira", "T", value))
    counting.epoch = CALENDAR_MAC_1904
    ((*_, said),) = cells(saved(counting))
    assert read_date(said) == BORN


@pytest.mark.parametrize("number_format", ["dd.mm.yyyy", "[$-407]d. mmmm yyyy;@", "m/d/yy", "yyyy"])
def test_a_day_is_told_from_its_format_however_it_shows_the_day(number_format):
    shown = filled(HEADINGS, ("Mira", "T", 42170))
    shown.active["C2"].number_format = number_format
    assert cells(saved(shown)) == [("Mira", "T", "2015-06-15")]


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (13, "13"),
        (13.0, "13"),
        (0, "0"),
        (-7, "-7"),
        (True, "TRUE"),
        (False, "FALSE"),
        ("  U13  ", "U13"),
        ("U\u00a013", "U\u00a013"),
        ("Zoë 🦘", "Zoë 🦘"),
        (dt.time(9, 30), "09:30:00"),
    ],
)
def test_a_cell_says_what_excel_shows(value, said):
    assert cells(workbook(("Mira", "T", value))) == [("Mira", "T", said)]


@pytest.mark.parametrize(
    ("stored", "said"),
    [("15.300000000000001", "15.3"), ("4.2170E4", "42170"), ("13.0", "13"), ("-0.5", "-0.5")],
)
def test_a_number_has_the_digits_that_excel_shows(stored, said):
    cell = f'<c r="A2"><v>{stored}</v></c>'
    assert cells(sheet_of(headings() + row(2, cell))) == [(said,)]


def test_text_in_several_fonts_is_one_text_without_how_it_is_pronounced():
    words = "<r><t>Mi</t></r><r><rPr><b/></rPr><t>ra</t></r><rPh sb='0' eb='1'><t>no</t></rPh>"
    cell = f'<c r="A2" t="inlineStr"><is>{words}</is></c>'
    assert cells(sheet_of(headings() + row(2, cell))) == [("Mira",)]


def test_characters_that_xml_cannot_hold_are_spaces():
    pasted = text("A2", "a@example.org_x000D_\nb@example.org_x0000_")
    assert cells(sheet_of(headings() + row(2, pasted))) == [("a@example.org \nb@example.org",)]


# Formulas


def formula(reference: str, result: str, kind: str = "n") -> str:
    return f'<c r="{reference}" t="{kind}"><f>1+1</f>{result}</c>'


@pytest.mark.parametrize(
    ("kind", "result", "said"),
    [
        ("n", "<v>42170</v>", "42170"),
        ("str", "<v>Mira</v>", "Mira"),
        ("b", "<v>1</v>", "TRUE"),
        ("e", "<v>#REF!</v>", "#REF!"),
    ],
)
def test_a_formula_says_its_result(kind, result, said):
    content = sheet_of(headings() + row(2, formula("A2", result, kind), text("B2", "T")))
    assert cells(content) == [(said, "T")]


def test_an_empty_result_is_an_empty_cell_and_a_row_of_them_is_none():
    empty = [row(number, formula(f"A{number}", "<v></v>", "str")) for number in (2, 3)]
    content = sheet_of(headings() + "".join(empty) + row(4, text("A4", "Ivo")))
    assert cells(content) == [("Ivo",)]


@pytest.mark.parametrize("result", ["", "<v/>", "<v></v>"])
def test_a_formula_that_was_never_worked_out_is_no_empty_cell(result):
    ((name, initial),) = cells(
        sheet_of(headings() + row(2, formula("A2", result), text("B2", "T")))
    )
    with pytest.raises(CellRefused, match="A formula stands here without its result"):
        not_wrong(name)
    assert not_wrong(initial) == "T"


@pytest.mark.parametrize("error", ["#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NUM!"])
def test_what_excel_shows_for_a_formula_that_went_wrong_is_nobodys_name(error):
    ((_, initial, _),) = cells(workbook(("Mira", error, BORN)))
    with pytest.raises(CellRefused, match="is what Excel shows where a formula went wrong"):
        not_wrong(initial)
    with pytest.raises(CellRefused, match=error.replace("?", r"\?")):
        not_wrong(f"mum@example.org {error}")


@pytest.mark.parametrize("text", ["", "Mira", "#1", "U13 #2!", "mum#ok@example.org", "# N/A"])
def test_other_cells_are_taken_as_they_are(text):
    assert not_wrong(text) == text


def test_a_day_that_excel_cannot_show_is_wrong_and_no_warning_tells_of_it(recwarn):
    impossible = filled(HEADINGS, ("Mira", "T", -70_000_000))
    impossible.active["C2"].number_format = "dd/mm/yyyy"
    assert cells(saved(impossible)) == [("Mira", "T", "#VALUE!")]
    assert not recwarn.list


# Which cells


def test_rows_are_counted_as_excel_counts_them_and_empty_ones_left_out():
    spaced = filled(HEADINGS, MIRA)
    spaced.active["A5"] = "Ivo"
    spaced.active["A900"].number_format = "0"
    spaced.active["ZZ7"].number_format = "0"
    table = read_table(saved(spaced))
    assert table.rows == (Row(2, MIRA), Row(5, ("Ivo",)))


def test_a_table_may_begin_anywhere_and_its_cells_need_not_say_where_they_are():
    later = Workbook()
    for column, heading in enumerate(HEADINGS, start=3):
        later.active.cell(4, column, heading)
        later.active.cell(6, column, MIRA[column - 3])
    table = read_table(saved(later))
    assert table.headings == ("", "", *HEADINGS)
    assert table.rows == (Row(6, ("", "", *MIRA)),)
    bare = "".join(f'<c t="inlineStr"><is><t>{words}</t></is></c>' for words in HEADINGS)
    assert cells(sheet_of(f"<row>{bare}</row><row>{bare}</row>")) == [HEADINGS]


def test_a_sheet_may_hold_more_than_it_says():
    parts = by_hand(headings() + row(2, text("A2", "Mira"), text("D2", "U13")))
    parts[SHEET] = parts[SHEET].replace("<sheetData>", '<dimension ref="A1"/><sheetData>')
    assert cells(packed(parts)) == [("Mira", "", "", "U13")]


def test_a_cell_merged_with_those_below_speaks_for_all_of_their_rows():
    squad = [("Mira", "T", BORN, "U13"), ("Ivo", "T", BORN), (), ("Lea", "B", BORN)]
    table = filled((*HEADINGS, "cohort"), *squad, ("Ben", "K", BORN), ("Tim", "K", BORN, "U15"))
    table.active.merge_cells("D2:D6")
    said = [(row.number, *row.cells[3:]) for row in read_table(saved(table)).rows]
    assert said == [(2, "U13"), (3, "U13"), (5, "U13"), (6, "U13"), (7, "U15")]


def test_a_cell_merged_with_those_beside_it_speaks_once():
    table = filled((*HEADINGS, "guardian email"), (*MIRA, "mum@example.org"))
    table.active.merge_cells("D2:F2")
    assert cells(saved(table)) == [(*MIRA, "mum@example.org")]


# Which sheet


def test_the_first_sheet_is_read_and_the_others_are_told_of():
    book = filled(HEADINGS, MIRA)
    book.active.title = "Squad"
    assert read_table(saved(book)).note == ""
    book.create_sheet("Coaches").append(["nobody"])
    book.create_sheet("Old").append(["nobody"])
    table = read_table(saved(book))
    assert table.rows == (Row(2, MIRA),)
    assert table.note == "Read from “Squad”, the first of 3 sheets."


@pytest.mark.parametrize("state", ["hidden", "veryHidden"])
def test_hidden_sheets_are_passed_over(state):
    book = filled(("secret",), ("nobody",))
    book.active.sheet_state = state
    shown = book.create_sheet("Squad")
    shown.append(HEADINGS)
    shown.append(MIRA)
    table = read_table(saved(book))
    assert table.rows == (Row(2, MIRA),)
    assert table.note == ""


def test_pictures_charts_names_and_what_is_broken_elsewhere_are_in_nobodys_way():
    busy = filled(HEADINGS, MIRA)
    second = busy.create_sheet("Charts")
    second.append([1, 2])
    second.add_chart(BarChart())
    picture = io.BytesIO()
    Picture.new("RGB", (4, 4)).save(picture, "PNG")
    busy.active.add_image(Image(picture))
    busy.active.print_title_rows = "1:1"
    busy.defined_names["Nowhere"] = DefinedName("Nowhere", attr_text="#REF!")
    busy.active.auto_filter.ref = "A1:C2"
    parts = unpacked(saved(busy))
    broken = {
        name: b"<broken"
        for name in parts
        if any(word in name for word in ("chart", "drawing", "docProps", "theme", "sheet2"))
    }
    assert len(broken) >= 6
    assert cells(packed(parts | broken)) == [MIRA]
    nonsense = '<dataValidations><dataValidation type="nonsense" sqref="A1"/></dataValidations>'
    assert cells(sheet_of(headings() + row(2, text("A2", "Mira")), nonsense)) == [("Mira",)]


def test_parts_may_stand_anywhere_and_their_names_in_any_capitals():
    parts = by_hand(headings() + row(2, text("A2", "Mira")))
    moved = {
        TYPES: parts[TYPES],
        PACKAGE_RELATED: related(officeDocument="/Book.xml"),
        "Book.xml": parts[WORKBOOK],
        "_rels/book.xml.RELS": related(worksheet="./a/../Sheets/One.xml"),
        "sheets/one.XML": parts[SHEET],
    }
    assert cells(packed(moved)) == [("Mira",)]


# Workbooks that are refused

COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504)
VBA = "application/vnd.ms-office.vbaProject"
STRICT = book("").replace(
    "schemas.openxmlformats.org/spreadsheetml/2006", "purl.oclc.org/ooxml/spreadsheetml"
)
CHART = {
    WORKBOOK: book('<sheet name="Ages" sheetId="1" r:id="chartsheet"/>'),
    WORKBOOK_RELATED: related(chartsheet="chartsheets/sheet1.xml"),
}
HIDDEN = book('<sheet name="Squad" sheetId="1" r:id="worksheet" state="hidden"/>')
GOOD = as_excel_saves_it()


def encrypted() -> bytes:
    """As if each part had a password of the zip's own."""
    content = bytearray(GOOD)
    for mark, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = content.find(mark)
        while at >= 0:
            content[at + flags] |= 1
            at = content.find(mark, at + 4)
    return bytes(content)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (COMPOUND + "EncryptedPackage".encode("utf-16-le"), "This workbook has a password."),
        (encrypted(), "This workbook has a password."),
        (COMPOUND + "Workbook".encode("utf-16-le"), "This is an old Excel workbook."),
        (with_parts({"xl/vbaProject.bin": b"Sub"}), "This workbook holds macros."),
        (
            with_parts({TYPES: types("application/vnd.ms-excel.sheet.macroEnabled.main+xml")}),
            "macros.",
        ),
        (with_parts({TYPES: types(VBA)}), "This workbook holds macros."),
        (
            with_parts({PACKAGE_RELATED: related(officeDocument="xl/workbook.bin")}),
            "This kind of Excel",
        ),
        (with_parts({WORKBOOK: STRICT}), "This kind of Excel workbook cannot be read."),
        (
            packed({"mimetype": "application/vnd.oasis.opendocument.spreadsheet"}),
            "not an Excel workbook",
        ),
        (with_parts({WORKBOOK: '<document xmlns="word"/>'}), "This is not an Excel workbook."),
        (
            with_parts({PACKAGE_RELATED: related(thumbnail="a.png")}),
            "This is not an Excel workbook.",
        ),
        (packed({"children.csv": "given name"}), "This is not an Excel workbook."),
        (packed({}), "This is not an Excel workbook."),
        (packed(by_hand() | CHART), "The first sheet, “Ages”, is a chart. Move the sheet"),
        (packed(by_hand() | {WORKBOOK: HIDDEN}), "Every sheet of this workbook is hidden."),
        (
            sheet_of(""),
            "The sheet “Squad” is empty. Move the sheet with the children to the front.",
        ),
        (sheet_of(row(3, '<c r="A3" s="0"/>')), "The sheet “Squad” is empty."),
        (sheet_of(row(3, text("A3", "  "))), "The sheet “Squad” is empty."),
        (workbook(), "There are headings in this file, and no child under them."),
    ],
)
def test_what_is_no_workbook_of_children_is_refused_in_plain_words(content, message):
    assert message in refusal(content)


DAMAGED = (
    "This workbook is damaged. Open it in Excel, save it anew and import that, or save the table "
    "as CSV UTF-8."
)


@pytest.mark.parametrize(
    "content",
    [
        b"PK\x03\x04rest",
        GOOD[:-30],
        GOOD[: len(GOOD) // 2],
        GOOD.replace(b"xl/styles.xml", b"xl/stYles.xmm"),
        packed({name: part for name, part in by_hand(headings()).items() if name != SHEET}),
        packed(by_hand(headings()) | {WORKBOOK_RELATED: related(other="x.xml")}),
        packed(by_hand() | {SHEET: "<worksheet"}),
        packed(by_hand() | {SHEET: ""}),
        packed(by_hand() | {WORKBOOK: ""}),
        packed(by_hand(headings() + row(2, '<c r="A2" t="s"><v>7</v></c>'))),
        packed(by_hand(headings() + row(2, '<c r="A2"><v>seven</v></c>'))),
        packed(by_hand(headings() + row(2, "<c r='A2'><v>" + "9" * 5000 + "</v></c>"))),
        packed(by_hand(headings() + row(2, '<c r="AAAA2"><v>7</v></c>'))),
        packed(by_hand(headings() + row(10**12, text("A2", "Mira")))),
        packed(by_hand(headings() + row(3, text("A3", "Mira")) + row(2, text("A2", "Ivo")))),
        packed(by_hand(headings() + row(2, text("A2", "Mi&#0;ra")))),
        packed(by_hand(headings() + row(2, text("A2", "Mi&#xD800;ra")))),
    ],
)
def test_a_damaged_workbook_is_refused_in_plain_words(content):
    refused_as(content, DAMAGED)


# Workbooks that are made to be too much


TOO_LARGE = (
    "This workbook is too large unpacked. Copy the rows of the children into a new one, or save "
    "them as CSV UTF-8."
)


def peak_of(reading) -> int:
    """Bytes that were held at once, over and above what is held already."""
    tracemalloc.start()
    try:
        reading()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def understated(content: bytes, part: str) -> bytes:
    """The same zip, a part of which calls itself ten bytes long."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = archive.getinfo(part).file_size
    honest = struct.pack("<L", size)
    assert content.count(honest) == 2
    return content.replace(honest, struct.pack("<L", 10))


@pytest.fixture
def spaces():
    return " " * (2 * MOST_UNPACKED)


def test_a_workbook_that_says_how_large_it_is_unpacked_is_not_unpacked(spaces):
    bomb = with_parts({"xl/media/image1.png": spaces})
    assert len(bomb) < MOST_BYTES
    assert peak_of(lambda: refused_as(bomb, TOO_LARGE)) < MOST_BYTES


def test_a_part_is_unpacked_no_further_than_it_says_it_goes(spaces):
    bomb = understated(packed(by_hand(headings() + spaces)), SHEET)
    assert len(bomb) < MOST_BYTES
    assert peak_of(lambda: refused_as(bomb, DAMAGED)) < MOST_BYTES


def test_what_cannot_be_unpacked_piece_by_piece_is_not_unpacked():
    refused_as(packed(unpacked(GOOD), zipfile.ZIP_BZIP2), DAMAGED)
    refused_as(packed(unpacked(GOOD), zipfile.ZIP_LZMA), DAMAGED)
    assert cells(packed(unpacked(GOOD), zipfile.ZIP_STORED)) == [MIRA]


def test_a_workbook_of_too_many_parts_is_refused():
    refused_as(with_parts({f"xl/{n}": "" for n in range(MOST_PARTS)}), TOO_LARGE)


@pytest.mark.parametrize("part", PARTS)
def test_a_part_of_too_many_tags_is_refused(part):
    before, end, after = unpacked(GOOD)[part].rpartition(b"</")
    refused_as(with_parts({part: before + b"<c/>" * 500_001 + end + after}), TOO_LARGE)


def test_a_tag_that_does_not_end_is_refused_before_it_is_in_memory():
    endless = "".join(f' a{n}=""' for n in range(400_000))
    content = packed(by_hand(f"<row><c{endless}/></row>"))
    assert peak_of(lambda: refused_as(content, TOO_LARGE)) < 4 * len(endless)


LAUGHS = "".join(
    f'<!ENTITY {longer} "{f"&{short};" * 10}">'
    for short, longer in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize("part", PARTS)
def test_no_part_has_a_document_type_definition(part, encoding):
    _, _, rest = unpacked(GOOD)[part].decode().rpartition("?>")
    with_one = f'<!DOCTYPE a [<!ENTITY a "ha">{LAUGHS}]>{rest}'
    refused_as(with_parts({part: with_one.encode(encoding)}), DAMAGED)


def test_not_even_a_thousand_laughs_are_read():
    """A billion are too many for expat itself."""
    for laugh in ("&d;", "&i;"):
        laughing = by_hand(headings() + row(2, text("A2", laugh)))
        laughing[SHEET] = f'<!DOCTYPE a [<!ENTITY a "ha">{LAUGHS}]>{laughing[SHEET]}'
        refused_as(packed(laughing), DAMAGED)


# How much a sheet may hold


def test_as_many_rows_are_read_as_of_csv_and_no_more():
    lots = [(f"Name{n}", "T", BORN) for n in range(MOST_ROWS)]
    assert len(cells(workbook(*lots))) == MOST_ROWS
    assert refusal(workbook(*lots, MIRA)) == (
        "There are more than 5,000 rows on this sheet. At most 5,000 children and 2 MB in one "
        "file. Split it and import the parts."
    )


def test_as_much_text_is_read_as_of_csv_and_no_more():
    long = filled(HEADINGS, *[("x" * 30_000, "T", BORN)] * 100)
    assert "There is too much text on this sheet." in refusal(saved(long))
    merged = filled(HEADINGS, ("x" * 30_000,), *[("", "T")] * 100)
    merged.active.merge_cells("A2:A102")
    assert "There is too much text on this sheet." in refusal(saved(merged))


def test_columns_end_at_zz():
    assert cells(sheet_of(headings() + row(2, text("ZZ2", "Mira")))) == [("",) * 701 + ("Mira",)]
    assert "Row 2 has a cell far to the right, beyond column ZZ." in refusal(
        sheet_of(headings() + row(2, text("AAA2", "Mira")))
    )


def test_the_last_row_of_excel_is_read_and_one_further_down_is_not():
    began = time.process_time()
    lowest = read_table(sheet_of(headings() + row(1_048_576, text("ZZ1048576", "Mira"))))
    assert lowest.rows == (Row(1_048_576, ("",) * 701 + ("Mira",)),)
    assert time.process_time() - began < 20  # seconds; a hundred if a million rows were looked at
    refused_as(sheet_of(headings() + row(1_048_577, text("A1048577", "Mira"))), DAMAGED)


def test_rows_that_are_prepared_and_empty_do_not_count_unless_they_are_very_many_and_wide():
    prepared = "".join(row(n, formula(f"A{n}", "<v></v>", "str")) for n in range(2, 10_000))
    last = row(10_000, text("A10000", "Mira"))
    assert cells(sheet_of(headings() + prepared + last)) == [("Mira",)]
    refused_as(sheet_of(headings() + prepared + row(10_000, text("ZZ10000", "Mira"))), TOO_LARGE)


# Whatever is sent

ANY = st.binary(max_size=12)


def is_read_or_refused(content: bytes) -> None:
    try:
        table = read_table(content)
    except Unreadable:
        return
    assert table.rows


@given(st.integers(0, len(GOOD)), st.integers(0, 12), ANY)
def test_any_bytes_in_a_workbook_are_read_or_refused_and_never_crash(at, gone, come):
    is_read_or_refused(GOOD[:at] + come + GOOD[at + gone :])


@given(
    st.sampled_from(PARTS),
    st.floats(0, 1),
    st.integers(0, 30),
    st.one_of(ANY, st.sampled_from([b"<c/>", b"<row>", b'"', b"-1", b"1e999", b"&amp;", b"/.."])),
)
def test_any_xml_in_a_workbook_is_read_or_refused_and_never_crashes(part, where, gone, come):
    parts = unpacked(GOOD)
    xml = parts[part]
    at = int(where * len(xml))
    is_read_or_refused(packed(parts | {part: xml[:at] + come + xml[at + gone :]}))


def test_openpyxl_is_not_imported_before_there_is_a_workbook_to_read():
    script = (
        "import sys, django; django.setup(); import program.config.urls;"
        "from athletes.importing.files import read_table;"
        "read_table(b'given name,initial\\nMira,T');"
        "assert 'openpyxl' not in sys.modules, 'imported';"
        "read_table(open(0, 'rb').read());"
        "assert 'openpyxl' in sys.modules, 'not imported'"
    )
    surroundings = {"DEBUG": "1", "DJANGO_SETTINGS_MODULE": "program.config.settings"}
    ran = subprocess.run(
        [sys.executable, "-c", script],
        input=GOOD,
        capture_output=True,
        env=os.environ | surroundings,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr.decode()
    assert ran.stderr == b""
