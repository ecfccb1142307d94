"""On which day a session was done: as whoever logs it says, or as far as that can be known.

Load and effort go by it; whether a session came about goes by the day it was written for.
"""

import datetime as dt
from typing import Final

from django.db.models import TextChoices
from django.utils import timezone

from program.engine.weeks import A_DAY
from program.models import AssignedSession, Completion, Place

EARLY: Final = dt.timedelta(days=28)
"""So long before the day it was written for a session may have been done. A house rule: families
bring the next days' forward, and a day long before that is a slip of the finger."""


class When(TextChoices):
    TODAY = "today", "today"
    YESTERDAY = "yesterday", "yesterday"
    EARLIER = "earlier", "earlier"


def when(day: dt.date, today: dt.date) -> When:
    if day == today:
        return When.TODAY
    return When.YESTERDAY if day == today - A_DAY else When.EARLIER


def earliest(assigned: AssignedSession) -> dt.date:
    return assigned.date - EARLY


def likely_day(assigned: AssignedSession, today: dt.date) -> dt.date:
    """What is asked about first: the day the log that stands says, or on which it was begun; in
    the hall its own day, at home today."""
    if day := _logged_day(assigned) or _begun_on(assigned):
        return day
    return min(assigned.date, today) if assigned.place == Place.VENUE else today


def unsaid_day(assigned: AssignedSession, today: dt.date) -> dt.date:
    """Of a log that says no day, such as one from a phone with an older page, `today` being when it
    came: the day of the log that stands, or on which it was begun before; else its own, if that
    has come. (What had been logged before the day was asked has its day by the same rule:
    migration `the_day_it_was_done`.)"""
    begun = _begun_on(assigned)
    if day := _logged_day(assigned):
        return day
    if assigned.place == Place.HOME and begun and begun < today:
        return begun
    return min(assigned.date, today)


def said_day(
    assigned: AssignedSession,
    today: dt.date,
    said: str,
    chosen: dt.date | None,
    told_on: dt.date | None,
) -> dt.date | None:
    """The day of a log that says `When`, `today` being when it came. "Today" is the day on which
    that was said, `told_on`, as the phone had it that may have been without a connection since; a
    phone whose calendar is wrong is not believed. None where an earlier day is meant, and not said.
    """
    if said == When.EARLIER or (not said and chosen):
        return chosen
    if not said:
        return unsaid_day(assigned, today)
    is_likely = told_on is not None and earliest(assigned) <= told_on <= today
    day = told_on if told_on and is_likely else today
    return day if said == When.TODAY else day - A_DAY


def day_in(text: str) -> dt.date | None:
    """A day as a page wrote it, which nobody typed; None for anything else."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return None


def _logged_day(assigned: AssignedSession) -> dt.date | None:
    log: Completion | None = getattr(assigned, "completion", None)
    return log.done_on if log else None


def _begun_on(assigned: AssignedSession) -> dt.date | None:
    if assigned.started_at is None:
        return None
    return max(timezone.localdate(assigned.started_at), earliest(assigned))
