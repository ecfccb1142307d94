"""Days and moments as they are written."""

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
