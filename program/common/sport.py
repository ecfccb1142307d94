"""What is said of a child's sport outside the program, fetched along with whatever else is asked of
it, as the engine computes with it."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import OuterRef
from django.db.models.functions import JSONObject
from django.utils import timezone

from athletes.models import Child, DifferentWeek, SportElsewhere
from program.common.lanes import DAYS
from program.engine.sport import HOLDS_FOR, Different, Sport, UsualWeek, WholeWeek
from program.engine.weeks import monday_of, week_end
from program.engine.wording import listed
from program.models import AssignedSession

KINDS: Final = ("school", "club", "matches")
"""What a family names the days of, as `SportElsewhere` has them."""


def sport_in_json(first: dt.date, last: dt.date, child: str = "child") -> JSONObject:
    """What is known of the days from `first` to `last`, to annotate a query with; `sport_of` reads
    it. `child` leads from its row to the child."""
    said = SportElsewhere.objects.filter(
        child=OuterRef(child), since__gt=monday_of(first) - HOLDS_FOR, since__lte=last
    )
    weeks = DifferentWeek.objects.filter(
        child=OuterRef(child), week__range=(monday_of(first), last)
    )
    usual = {name: name for name in ("since", "hours", *KINDS, "said_at")}
    usual["by"] = "said_by__name"
    return JSONObject(
        usual=ArraySubquery(said.order_by("since").values(json=JSONObject(**usual))),
        different=ArraySubquery(weeks.order_by().values(json=JSONObject(week="week", how="how"))),
    )


def sport_of(said: Mapping[str, Any]) -> Sport:
    return Sport(
        tuple(_usual(each) for each in said["usual"]),
        {dt.date.fromisoformat(each["week"]): Different(each["how"]) for each in said["different"]},
    )


def _usual(row: Mapping[str, Any]) -> UsualWeek:
    days = {*row["school"], *row["club"], *row["matches"]}
    return UsualWeek(dt.date.fromisoformat(row["since"]), float(row["hours"]), frozenset(days))


def here_in_json(monday: dt.date, child: str = "child") -> ArraySubquery:
    """The sessions that the child was sent for a week, to annotate a query with; `here_of` reads
    it."""
    sessions = AssignedSession.objects.taking_place().filter(
        child=OuterRef(child), date__range=(monday, week_end(monday))
    )
    return ArraySubquery(
        sessions.order_by().values(json=JSONObject(date="date", seconds="seconds"))
    )


def here_of(rows: list[Mapping[str, Any]]) -> dict[dt.date, int]:
    """By day the seconds of its sessions."""
    found: dict[dt.date, int] = {}
    for each in rows:
        day = dt.date.fromisoformat(each["date"])
        found[day] = found.get(day, 0) + each["seconds"]
    return found


def days_in_words(days: Iterable[int]) -> str:
    """Weekdays, 1 for Monday: "Mon, Wed and Sat"."""
    return listed(DAYS[day - 1][:3] for day in sorted(days))


def whole_week(age: int, sport: Sport, here: Mapping[dt.date, int], monday: dt.date) -> WholeWeek:
    return WholeWeek(age, sport.in_seven_days(monday), here)


@dataclass(frozen=True)
class ChildSport:
    """A child's sport as pages tell of it: what was said, all of it in the week of `today`, and of
    the usual week of then its days by kind, by whom and when it was said."""

    today: dt.date
    sport: Sport
    week: WholeWeek
    days: Mapping[str, Sequence[int]]
    said_by: str = ""
    said_on: dt.date | None = None

    @property
    def usual(self) -> UsualWeek | None:
        return self.sport.usual_on(self.today)

    @property
    def in_words(self) -> str:
        """ "7.5 hours a week: club Mon and Wed, matches Sat"; "" where nobody has said."""
        if self.usual is None:
            return ""
        kinds = [f"{kind} {days_in_words(on)}" for kind, on in self.days.items() if on]
        return f"{self.usual.hours:g} hours a week: {', '.join(kinds)}" if kinds else "none"

    @property
    def different(self) -> Different | None:
        return self.sport.different.get(monday_of(self.today))

    @property
    def different_in_words(self) -> str:
        """How the week of `today` differs; "" where it does not."""
        return str(DifferentWeek.How(self.different).label) if self.different else ""

    @property
    def together_in_words(self) -> str:
        """ "10 hours this week with 2.5 here, at 11 years"; "" where that is not known."""
        if self.week.hours is None:
            return ""
        least = "At least " if self.week.elsewhere.is_at_least else ""
        return (
            f"{least}{self.week.hours:g} hours this week with {self.week.hours_here:g} here, at"
            f" {self.week.age} years."
        )


def with_sport(monday: dt.date) -> dict[str, Any]:
    """Annotations of a query of children, of whom `sport_of_child` and `said_of_week` then know
    that week without a query."""
    return {
        "said_of_sport": sport_in_json(monday, week_end(monday), "pk"),
        "sent_this_week": here_in_json(monday, "pk"),
    }


def sport_of_child(child: Child, today: dt.date) -> ChildSport:
    """Of a child who is visible to the person. One query, and none for a child `with_sport` of that
    week."""
    monday = monday_of(today)
    known = _with_sport(child, monday)
    sport = sport_of(known.said_of_sport)
    week = whole_week(child.age_on(today), sport, here_of(known.sent_this_week), monday)
    if sport.usual_on(today) is None:
        return ChildSport(today, sport, week, dict.fromkeys(KINDS, ()))
    said = known.said_of_sport["usual"][-1]
    on = timezone.localdate(dt.datetime.fromisoformat(said["said_at"]))
    days = {kind: said[kind] for kind in KINDS}
    return ChildSport(today, sport, week, days, said["by"] or "somebody who has left", on)


def said_of_week(child: Child, monday: dt.date) -> Sport:
    """What was said of a week of a child who is visible to the person. One query, and none for a
    child `with_sport` of it."""
    return sport_of(_with_sport(child, monday).said_of_sport)


def _with_sport(child: Child, monday: dt.date) -> Any:
    if hasattr(child, "said_of_sport"):
        return child
    return Child.objects.filter(pk=child.pk).annotate(**with_sport(monday)).get()
