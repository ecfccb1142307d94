"""What is said of a child's sport outside the program, fetched along with whatever else is asked of
it, as the engine computes with it."""

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import Any

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import OuterRef
from django.db.models.functions import JSONObject

from athletes.models import Child, DifferentWeek, SportElsewhere
from program.common.lanes import DAYS
from program.engine.sport import HOLDS_FOR, Different, Sport, UsualWeek, WholeWeek
from program.engine.weeks import monday_of, week_end
from program.engine.wording import listed
from program.models import AssignedSession


def sport_in_json(first: dt.date, last: dt.date, child: str = "child") -> JSONObject:
    """What is known of the days from `first` to `last`, to annotate a query with; `sport_of` reads
    it. `child` leads from its row to the child."""
    said = SportElsewhere.objects.filter(
        child=OuterRef(child), since__gt=monday_of(first) - HOLDS_FOR, since__lte=last
    )
    weeks = DifferentWeek.objects.filter(
        child=OuterRef(child), week__range=(monday_of(first), last)
    )
    usual = {name: name for name in ("since", "hours", "school", "club", "matches")}
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


def sport_and_week(child: Child, today: dt.date) -> tuple[Sport, WholeWeek]:
    """What is said of a child, who is visible to the person, and all its sport of this week. One
    query."""
    monday = monday_of(today)
    row: Any = (
        Child.objects.filter(pk=child.pk)
        .annotate(
            sport=sport_in_json(monday, week_end(monday), "pk"), here=here_in_json(monday, "pk")
        )
        .values("sport", "here")
        .get()
    )
    sport = sport_of(row["sport"])
    return sport, whole_week(child.age_on(today), sport, here_of(row["here"]), monday)
