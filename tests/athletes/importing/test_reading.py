"""Files as people have them, read without a database."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from athletes.importing.cells import (
    CellRefused,
    read_date,
    read_emails,
    read_sex,
    reads_both_ways,
)
from athletes.importing.columns import Column, find_columns
from athletes.importing.files import read_table
from athletes.importing.tables import MOST_ROWS, Table, Unreadable
from athletes.names import NameRefused, given_name, initial_of, plain_upper

HEADINGS = "given name,family initial,birth date"
ZOE = f"{HEADINGS}\nZoë,T,2015-06-15\n"


def cells(content: bytes) -> list[tuple[str, ...]]:
    return [row.cells for row in read_table(content).rows]


@pytest.mark.parametrize(
    ("content", "encoding"),
    [
        (ZOE.encode(), "UTF-8"),
        (ZOE.encode("utf-8-sig"), "UTF-8"),
        (ZOE.encode("utf-16"), "UTF-16"),
        (ZOE.encode("utf-16-le"), "UTF-16"),
        (ZOE.encode("utf-16-be"), "UTF-16"),
        (ZOE.encode("cp1252"), "Windows-1252"),
    ],
)
def test_letters_are_read_however_the_file_was_saved(content, encoding):
    table = read_table(content)
    assert table.headings == ("given name", "family initial", "birth date")
    assert table.rows[0].cells == ("Zoë", "T", "2015-06-15")
    assert table.encoding == encoding


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_cells_are_told_apart_whatever_stands_between_them(separator, ending):
    lines = [HEADINGS.replace(",", separator), separator.join(["Mira", "T", "15.06.2015"])]
    assert cells(ending.join(lines).encode()) == [("Mira", "T", "15.06.2015")]


def test_excels_own_line_about_the_separator_is_not_a_row():
    content = f"sep=;\r\n{HEADINGS.replace(',', ';')}\r\nMira;T;2015-06-15".encode()
    table = read_table(content)
    assert table.headings[0] == "given name"
    assert table.rows[0].number == 2


def test_quoted_cells_keep_separators_and_line_breaks_and_spaces_are_trimmed():
    content = f'{HEADINGS}\n" Mira, Anna ",T,"2015-06-15\n"\n'.encode()
    assert cells(content) == [("Mira, Anna", "T", "2015-06-15")]


def test_rows_are_counted_as_a_spreadsheet_counts_them():
    content = f"{HEADINGS}\nMira,T,1\n\n,,\nIvo,T,2\n".encode()
    assert [row.number for row in read_table(content).rows] == [2, 5]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf  \n\n", "empty"),
        (b",,\n,,\n", "empty"),
        (HEADINGS.encode(), "no child under them"),
        (b"PK\x03\x04....", "This workbook is damaged"),
        (b"\xd0\xcf\x11\xe0....", "old Excel workbook"),
        (b"%PDF-1.7", "PDF"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not a text file"),
        ("given name\0,x\n".encode("utf-16"), "not a text file"),
        (b"given name\nZo\x81\x8d", "letters of this file cannot be read"),
        (b"x" * (2 * 1024 * 1024 + 1), "too large"),
        (f"{HEADINGS}\n".encode() + b"Mira,T,2015-06-15\n" * (MOST_ROWS + 1), "5,001 rows"),
        (HEADINGS.encode() + b'\n"' + b"x" * 140_000 + b'"', "not a table that can be read"),
    ],
)
def test_what_is_not_a_table_of_children_is_refused_in_plain_words(content, message):
    with pytest.raises(Unreadable, match=message):
        read_table(content)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_and_never_crash(content):
    try:
        table = read_table(content)
        find_columns(table.headings)
    except Unreadable:
        return
    assert table.rows


@given(
    st.lists(
        st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\0")), max_size=4),
        max_size=4,
    )
)
def test_a_table_survives_being_kept(rows):
    from athletes.importing.tables import Row

    table = Table(("a", "b"), tuple(Row(n, tuple(row)) for n, row in enumerate(rows, 2)), "UTF-8")
    assert Table.from_json(table.to_json()) == table


# Columns


def test_columns_are_known_by_many_names_and_in_any_order():
    columns = find_columns(
        ["Date of birth (dd/mm/yyyy)", "SURNAME", "First_name", "Team", "Parent e-mail", "Shoe"]
    )
    row = ["15/06/2015", "Turner", "Mira", "U13", "p@example.org", "36"]
    said = {column: columns.cell(row, column) for column in Column}
    assert said == {
        Column.GIVEN_NAME: "Mira",
        Column.FAMILY_NAME: "Turner",
        Column.BIRTH_DATE: "15/06/2015",
        Column.SEX: "",
        Column.COHORT: "U13",
        Column.GUARDIAN: "p@example.org",
    }
    assert columns.unused == ("Shoe",)


def test_what_nobody_asked_for_is_not_kept():
    table = read_table(f"{HEADINGS},diagnosis\nMira,T,2015-06-15,secret\n".encode())
    narrow = find_columns(table.headings).narrow(table)
    assert narrow.headings == ("given name", "family initial", "birth date")
    assert "secret" not in str(narrow)


def test_guardians_may_have_several_columns():
    columns = find_columns([*HEADINGS.split(","), "Guardian email 1", "Guardian email 2"])
    said = columns.cell(["Mira", "T", "x", "a@example.org", "b@example.org"], Column.GUARDIAN)
    assert said == "a@example.org b@example.org"


def test_missing_columns_are_named_beside_what_was_found():
    with pytest.raises(Unreadable) as refused:
        find_columns(["given name", "Name", "Geb."])
    assert str(refused.value) == (
        "Missing: family initial, birth date. Found: “given name”, “Name”, “Geb.”."
    )


def test_two_columns_for_one_thing_are_refused_by_name():
    with pytest.raises(Unreadable, match=r"“Surname” and “Initial”\. Keep one"):
        find_columns(["First name", "Surname", "Initial", "DOB"])


# Cells

BORN = dt.date(2015, 6, 15)


@pytest.mark.parametrize(
    "text",
    [
        "2015-06-15",
        "2015/6/15",
        "2015-06-15 00:00:00",
        "15.06.2015",
        "15. 6. 2015",
        "15/06/2015",
        "15-6-2015",
        "15 June 2015",
        "15-Jun-2015",
        "42170",
        "42170.0",
        "42170,00",
    ],
)
def test_a_day_is_read_in_every_way_spreadsheets_write_it(text):
    assert read_date(text) == BORN


def test_with_strokes_the_day_comes_first_unless_said_otherwise():
    assert read_date("04/07/2014") == dt.date(2014, 7, 4)
    assert read_date("04/07/2014", month_first=True) == dt.date(2014, 4, 7)
    assert read_date("04.07.2014", month_first=True) == dt.date(2014, 7, 4)


@pytest.mark.parametrize(
    ("text", "both"),
    [("04/07/2014", True), ("07/07/2014", False), ("13/07/2014", False), ("04.07.2014", False)],
)
def test_which_days_read_both_ways(text, both):
    assert reads_both_ways(text) is both


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no birth date"),
        ("soon", "not a date such as"),
        ("06/15/2015", "no month 15. If it is the day, choose the other order"),
        ("31/02/2015", "no such day"),
        ("31.13.2015", "no such day"),
        ("2015-02-30", "no such day"),
        ("0000-01-01", "no such day"),
        ("15/06/15", "four digits"),
        ("15 Juni 2015", "no month that is understood"),
        ("2015", "not a date"),
    ],
)
def test_a_day_that_cannot_be_understood_is_refused_in_plain_words(text, message):
    with pytest.raises(CellRefused, match=message):
        read_date(text)


@given(st.dates(dt.date(2000, 1, 1), dt.date(2025, 12, 31)))
def test_every_day_is_read_back_from_every_way_of_writing_it(day):
    ways = [
        f"{day:%Y-%m-%d}",
        f"{day:%d.%m.%Y}",
        f"{day:%d/%m/%Y}",
        str((day - dt.date(1899, 12, 30)).days),
    ]
    assert [read_date(way) for way in ways] == [day] * 4
    assert read_date(f"{day:%m/%d/%Y}", month_first=True) == day


def test_addresses_are_told_apart_and_written_small():
    assert read_emails("A@example.org; b@example.org,c@example.org") == (
        "a@example.org",
        "b@example.org",
        "c@example.org",
    )
    assert read_emails("") == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("nobody", "“nobody” is not an email address"),
        ("a@example.org A@example.org", "a@example.org stands there twice"),
        (" ".join(f"p{n}@example.org" for n in range(5)), "At most 4 guardians"),
        (f"{'x' * 250}@example.org", "is not an email address"),
    ],
)
def test_wrong_addresses_are_refused_in_plain_words(text, message):
    with pytest.raises(CellRefused, match=message):
        read_emails(text)


def test_sex_is_girl_boy_or_nothing():
    assert [read_sex(text) for text in ("Girl", "F", "m", "")] == ["female", "female", "male", ""]
    with pytest.raises(CellRefused, match="Write girl, boy, or nothing"):
        read_sex("yes")


# Names


def test_of_a_family_name_only_the_first_letter_is_kept():
    assert [initial_of(name) for name in ("turner", "Ø.", "’t Hart", "E\u0301tienne")] == list(
        "TØTÉ"
    )


@pytest.mark.parametrize("text", ["", "12", "?", "x" * 41, "a@b.org", "Mi\u200bra"])
def test_what_is_not_a_given_name_is_refused(text):
    with pytest.raises(NameRefused):
        given_name(text)


def test_capitals_are_made_letter_by_letter_as_the_database_makes_them():
    assert plain_upper("weiß é") == "WEIß É"
