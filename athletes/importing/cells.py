"""What single cells mean: days, sex, addresses. Imports no Django but its check of an address."""

import datetime as dt
import re
from calendar import month_abbr, month_name
from typing import Final

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from athletes.importing.tables import NO_RESULT

FIRST_DAY_OF_EXCEL: Final = dt.date(1899, 12, 30)
YEAR_FIRST: Final = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ][\d:.]+)?$")
WITH_DOTS: Final = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})$")
WITH_STROKES: Final = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})(?: [\d:.]+)?$")
SHORT_YEAR: Final = re.compile(r"\d{1,2}[./-]\d{1,2}[./-]\d{2}$")
IN_WORDS: Final = re.compile(r"(\d{1,2})[ .-]+([A-Za-z]{3,9})[ .-]+(\d{4})$")
EXCEL_NUMBER: Final = re.compile(r"(\d{5})(?:[.,]0*)?$")
NO_VALUE: Final = re.compile(r"(?<!\S)#(?:N/A|[A-Z/0]+[!?])(?!\S)")
"""What a spreadsheet shows where a formula went wrong."""
SEXES: Final = {
    "": "",
    "f": "female",
    "female": "female",
    "girl": "female",
    "m": "male",
    "male": "male",
    "boy": "male",
}
MOST_GUARDIANS: Final = 4
LONGEST_EMAIL: Final = 254


class CellRefused(ValueError):
    """The cell cannot be understood; the message says why in one sentence."""


def not_wrong(text: str) -> str:
    """The text itself, unless a formula went wrong there."""
    found = NO_VALUE.search(text)
    if found and found[0] == NO_RESULT:
        raise CellRefused(
            "A formula stands here without its result. Open the workbook in Excel, save it and "
            "import it again."
        )
    if found:
        raise CellRefused(
            f"“{found[0]}” is what Excel shows where a formula went wrong. Write the value itself."
        )
    return text


def has_strokes(text: str) -> bool:
    """Whether somebody must say if the day or the month comes first."""
    return bool(WITH_STROKES.match(text))


def reads_both_ways(text: str) -> bool:
    """Whether it is one day with the day first and another one with the month first."""
    found = WITH_STROKES.match(text)
    if not found:
        return False
    first, second = int(found[1]), int(found[2])
    return first != second and first <= 12 and second <= 12


def read_date(text: str, *, month_first: bool = False) -> dt.date:
    """A day in any of the ways spreadsheets write one; dots always have the day first."""
    if not text:
        raise CellRefused("There is no birth date.")
    if found := YEAR_FIRST.match(text):
        return _day(text, found[1], found[2], found[3])
    if found := WITH_DOTS.match(text):
        return _day(text, found[3], found[2], found[1])
    if found := WITH_STROKES.match(text):
        day, month = (found[2], found[1]) if month_first else (found[1], found[2])
        return _day(text, found[3], month, day)
    if found := IN_WORDS.match(text):
        return _day(text, found[3], str(_month(text, found[2])), found[1])
    if found := EXCEL_NUMBER.match(text):
        return FIRST_DAY_OF_EXCEL + dt.timedelta(days=int(found[1]))
    if SHORT_YEAR.match(text):
        raise CellRefused(f"Write the year of “{text}” with four digits.")
    raise CellRefused(f"“{_short(text)}” is not a date such as 15/06/2015.")


def _month(text: str, name: str) -> int:
    for number in range(1, 13):
        if name.casefold() in {month_name[number].casefold(), month_abbr[number].casefold()}:
            return number
    raise CellRefused(f"“{text}” has no month that is understood.")


def _day(text: str, year: str, month: str, day: str) -> dt.date:
    try:
        return dt.date(int(year), int(month), int(day))
    except ValueError:
        if int(month) > 12 and int(day) <= 12 and has_strokes(text):
            raise CellRefused(
                f"“{text}” has no month {month}. If it is the day, choose the other order."
            ) from None
        raise CellRefused(f"There is no such day as “{text}”.") from None


def read_sex(text: str) -> str:
    try:
        return SEXES[text.casefold()]
    except KeyError:
        raise CellRefused(
            f"“{_short(text)}” is not understood. Write girl, boy, or nothing."
        ) from None


def read_emails(text: str) -> tuple[str, ...]:
    """Every address in the cell, in small letters."""
    emails = [email.lower() for email in re.split(r"[\s,;|]+", text) if email]
    for email in emails:
        if len(email) > LONGEST_EMAIL or not _is_email(email):
            raise CellRefused(f"“{_short(email)}” is not an email address.")
    twice = next((email for email in emails if emails.count(email) > 1), None)
    if twice:
        raise CellRefused(f"{twice} stands there twice.")
    if len(emails) > MOST_GUARDIANS:
        raise CellRefused(f"At most {MOST_GUARDIANS} guardians for one child.")
    return tuple(emails)


def _is_email(text: str) -> bool:
    try:
        validate_email(text)
    except ValidationError:
        return False
    return True


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:39]}…"
