"""More hours of sport a week than years of age, or no day off, with what a family has said of sport
outside the program; the sources are those of `program.engine.sport`."""

import datetime as dt
from collections.abc import Iterator
from typing import Final

from library.shared.dates import short_weekday_and_date
from program.common.sport import days_in_words, whole_week
from program.common.wording import number
from program.engine.sport import UsualWeek, WholeWeek
from program.engine.weeks import monday_of
from program.models.resolutions import Do, Kind
from program.review.children import Who
from program.review.finding import Action, Finding
from program.review.queries import ReviewRows

LOOK_AGAIN: Final = 84
"""Days that "seen" keeps it away; another answer of the family is asked about at once."""

TOO_MANY_HOURS: Final = (
    "More hours of sport a week than years of age went with serious overuse injury (Jayanthi et"
    " al. 2015). It is a reason to ask how it goes, no limit."
)
NO_DAY_OFF: Final = (
    "At least one to two days a week off organised training are advised (Brenner & Watson 2024)."
)


def sport_findings(rows: ReviewRows) -> Iterator[Finding]:
    monday = monday_of(rows.today)
    for who in rows.who.values():
        usual = who.sport.usual_on(monday)
        week = whole_week(who.child.age_on(rows.today), who.sport, who.here, monday)
        if usual and (week.is_above_age or week.has_no_day_off):
            yield _sport(who, usual, week, rows.today)


def _sport(who: Who, usual: UsualWeek, week: WholeWeek, today: dt.date) -> Finding:
    no_day_off = [NO_DAY_OFF] if week.has_no_day_off else []
    about = "hours" if week.is_above_age else "days"
    return Finding(
        key=f"{Kind.SPORT}-{usual.since.isoformat()}-{about}",
        kind=Kind.SPORT,
        who=who,
        subjects=(),
        headline=_hours(week) if week.is_above_age else "No day of this week without sport",
        evidence=(
            _made_of(usual, week),
            *([TOO_MANY_HOURS] if week.is_above_age else []),
            *no_day_off,
        ),
        actions=(
            Action(Do.SEEN, "Seen, look again in twelve weeks", days=LOOK_AGAIN),
            Action(Do.LOOK, "Look at the days"),
        ),
        on=today,
    )


def _hours(week: WholeWeek) -> str:
    told = f"{week.hours:g} hours of sport this week at {number(week.age)} years"
    return f"At least {told}" if week.elsewhere.is_at_least else told


def _made_of(usual: UsualWeek, week: WholeWeek) -> str:
    days = {day.isoweekday() for day in week.elsewhere.days}
    there = f"{week.elsewhere.hours:g} hours elsewhere"
    there = f"{there} on {days_in_words(days)}" if days else "Nothing elsewhere"
    since = short_weekday_and_date(usual.since)
    return f"{there}, said from the week of {since}, and {week.hours_here:g} here."
