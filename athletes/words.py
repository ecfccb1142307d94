"""Days as they are written in a sentence."""

import datetime as dt


def in_words(day: dt.date) -> str:
    """ "20 December 2026"."""
    return f"{day.day} {day:%B %Y}"
