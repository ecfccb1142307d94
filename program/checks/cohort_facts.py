"""Who is around a written session, for the checks: the cohort's people with all that they do, and
how the program has set the checks. One query, and one for what the people do, over as many days and
cohorts as are asked for; what is written comes from `childrens_work`.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Exists, OuterRef
from django.db.models.functions import JSONObject

from athletes.models import Cohort, Enrolment, HomeKit, Placement
from athletes.models.children import age_on, grows_fast
from library.usual_home import USUAL_HOME_KIT
from program.checks.childrens_work import (
    ChildrensWork,
    Enrolled,
    OwnWork,
    Written,
    held_by_children,
    since,
)
from program.checks.settings import setting_of
from program.common.sport import sport_in_json, sport_of
from program.engine.checks import CheckedChild, Settings
from program.engine.contact_ceilings import contact_ceiling
from program.engine.fit.limits import ceiling_now
from program.engine.sport import NOTHING_SAID, Sport
from program.engine.weeks import A_WEEK, week_end
from program.models import CheckChange


@dataclass(frozen=True)
class Person:
    """A child as the checks see it: its key, enrolled from `start` to `end`, what is at home, what
    it does in whatever cohort, and its sport outside the program."""

    child: int
    start: dt.date
    end: dt.date | None
    birth_date: dt.date
    growing_fast_until: dt.date | None
    is_placed_on_landing: bool
    home: frozenset[str]
    does: OwnWork = field(default_factory=OwnWork)
    sport: Sport = NOTHING_SAID

    def is_in(self, day: dt.date) -> bool:
        return self.start <= day and (self.end is None or day <= self.end)

    def checked(self, day: dt.date) -> CheckedChild:
        """As a session of that day sees it, or the week that ends with it."""
        age = age_on(self.birth_date, day)
        does, weeks_before = self.does, since(day - A_WEEK)
        is_like_all = all(not weeks_before < each <= day for each in does.differs)
        return CheckedChild(
            self.child,
            ceiling_now(
                contact_ceiling(age), in_growth_spurt=grows_fast(self.growing_fast_until, day)
            ),
            does.elsewhere,
            age,
            None if is_like_all else does.work,
            does.landings,
        )

    def in_week(self, starts: dt.date) -> CheckedChild:
        """As it is on the last of the seven days, with its sport outside the program in them."""
        outside = self.sport.in_seven_days(starts)
        return replace(
            self.checked(week_end(starts)),
            sport_days=frozenset(outside.days),
            sport_hours=outside.hours,
        )


class People:
    """The children of a cohort over some days, and what its venue has."""

    def __init__(self, people: Sequence[Person], venue: frozenset[str]) -> None:
        self.all = people
        self.venue = venue
        self._on: dict[dt.date, list[Person]] = {}
        self._checked: dict[dt.date, tuple[CheckedChild, ...]] = {}
        self._places: dict[dt.date, frozenset[int]] = {}
        self._with: dict[frozenset[str], frozenset[int]] = {}

    def alone(self, child: int) -> "People":
        """The child of that key, as if there were no other."""
        return People([person for person in self.all if person.child == child], self.venue)

    def on(self, day: dt.date) -> list[Person]:
        """Whoever is in the cohort that day."""
        if day not in self._on:
            self._on[day] = [person for person in self.all if person.is_in(day)]
        return self._on[day]

    def checked(self, day: dt.date) -> tuple[CheckedChild, ...]:
        if day not in self._checked:
            self._checked[day] = tuple(person.checked(day) for person in self.on(day))
        return self._checked[day]

    def in_week(self, starts: dt.date) -> tuple[CheckedChild, ...]:
        """Whoever is in the cohort on the last of the seven days, with its sport in them."""
        return tuple(person.in_week(starts) for person in self.on(week_end(starts)))

    def lacking(self, items_by_need: Mapping[str, frozenset[str]], day: dt.date) -> dict[str, int]:
        """By need, in how many homes none of its items is found."""
        here = self._in(day)
        return {what: len(here - self._having(items)) for what, items in items_by_need.items()}

    def cannot_do(
        self, needs: Collection[frozenset[str]], day: dt.date, *, is_at_home: bool
    ) -> bool:
        """Whether no home, or not the venue, meets every one of these needs; no without any child
        or any need."""
        if not needs or not self.on(day):
            return False
        if is_at_home:
            return not self._in(day).intersection(*map(self._having, needs))
        return any(items.isdisjoint(self.venue) for items in needs)

    # Both by the places in `all`: a block asks them for each of its exercises on each of its days.

    def _in(self, day: dt.date) -> frozenset[int]:
        if day not in self._places:
            here = (at for at, person in enumerate(self.all) if person.is_in(day))
            self._places[day] = frozenset(here)
        return self._places[day]

    def _having(self, items: frozenset[str]) -> frozenset[int]:
        if items not in self._with:
            homes = enumerate(person.home for person in self.all)
            self._with[items] = frozenset(at for at, home in homes if not items.isdisjoint(home))
        return self._with[items]


@dataclass(frozen=True)
class CohortFacts:
    people: People
    settings: Settings


def cohort_facts(
    cohort: Cohort, first: dt.date, last: dt.date, written: Iterable[Written] | None = None
) -> CohortFacts:
    """One cohort's, as `facts_of_cohorts` has them."""
    return facts_of_cohorts([cohort.pk], first, last, written)[cohort.pk]


def facts_of_cohorts(
    cohorts: Collection[int],
    first: dt.date,
    last: dt.date,
    written: Iterable[Written] | None = None,
) -> dict[int, CohortFacts]:
    """By cohort the children enrolled on any of these days and the checks as they are set, in one
    query; and with what is `written_for` the cohorts from `since(first)` on, what each child does,
    in another one."""
    venue = Cohort.objects.filter(pk=OuterRef("pk"), venue_items__isnull=False)
    rows: Any = Cohort.objects.filter(pk__in=cohorts).annotate(
        people=ArraySubquery(_people(first, last)),
        venue=ArraySubquery(venue.values("venue_items__slug")),
        changes=ArraySubquery(
            CheckChange.objects.standing().values(
                json=JSONObject(
                    code="code",
                    is_off="is_off",
                    least="least",
                    most="most",
                    confirmed_at="confirmed_at",
                )
            )
        ),
    )
    work = None
    if written is not None:
        work = ChildrensWork(written, held_by_children(cohorts, since(first), last))
    return {row.pk: _facts(row, work) for row in rows}


def _facts(row: Any, work: ChildrensWork | None) -> CohortFacts:
    changes = (CheckChange(**each) for each in row.changes)
    return CohortFacts(
        People([_person(each, row.pk, work) for each in row.people], frozenset(row.venue)),
        {change.code: setting_of(change) for change in changes},
    )


def _people(first: dt.date, last: dt.date) -> Any:
    """The enrolments of a cohort on any of these days, for a subquery; kit None where nobody has
    said."""
    landing = Placement.objects.current().on_landing().filter(child=OuterRef("child"))
    kit = HomeKit.objects.filter(child=OuterRef("child"))
    times = Enrolment.objects.filter(child=OuterRef("child"), start__lte=last)
    return (
        Enrolment.objects.filter(cohort=OuterRef("pk"), start__lte=last)
        .running_after(first - dt.timedelta(days=1))
        .order_by("pk")
        .values(
            json=JSONObject(
                child="child",
                start="start",
                end="end",
                birth_date="child__birth_date",
                growing_fast_until="child__growing_fast_until",
                lands=Exists(landing),
                has_said=Exists(kit),
                enrolled=ArraySubquery(
                    times.values(json=JSONObject(cohort="cohort", start="start", end="end"))
                ),
                home=ArraySubquery(kit.filter(items__isnull=False).values("items__slug")),
                sport=sport_in_json(first, last),
            )
        )
    )


def _person(row: dict[str, Any], cohort: int, work: ChildrensWork | None) -> Person:
    start = dt.date.fromisoformat(row["start"])
    enrolled = [
        Enrolled(each["cohort"], dt.date.fromisoformat(each["start"]), _day(each["end"]))
        for each in row["enrolled"]
    ]
    return Person(
        row["child"],
        start,
        _day(row["end"]),
        dt.date.fromisoformat(row["birth_date"]),
        _day(row["growing_fast_until"]),
        row["lands"],
        frozenset(row["home"]) if row["has_said"] else USUAL_HOME_KIT,
        work.of(row["child"], cohort, enrolled) if work else OwnWork(),
        sport_of(row["sport"]),
    )


def _day(text: str | None) -> dt.date | None:
    return dt.date.fromisoformat(text) if text else None
