"""Days and moments as they are written, and years before a day."""

import datetime as dt


def date_in_words(day: dt.date) -> str:
    """ "20 December 2026"."""
    return f"{day.day} {day:%B %Y}"


def weekday_and_date(day: dt.date) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}"


def short_weekday_and_date(day: dt.date) -> str:
    """ "Mon 2 Nov"."""
    return f"{day:%a} {day.day} {day:%b}"


def moment_in_words(moment: dt.datetime) -> str:
    """ "Monday 2 November, 18:05"."""
    return f"{moment:%A} {moment.day} {moment:%B}, {moment:%H:%M}"


def years_before(day: dt.date, years: int) -> dt.date:
    """The same date so many years before; of the 29th of February the 28th where there is none."""
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return day.replace(year=day.year - years, day=28)
