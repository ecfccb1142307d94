"""What is around a written session, for the checks: the cohort's people with what they do in other
groups, how the program has set the checks, and the cohort's other work. Three queries, over as many
days and cohorts as are asked for.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Exists, F, OuterRef
from django.db.models.functions import JSONObject

from athletes.models import Cohort, Enrolment, HomeKit, Placement
from athletes.models.children import age_on, grows_fast
from library.usual_home import USUAL_HOME_KIT
from program.checks.settings import setting_of
from program.common.session_plan import DOSED, dose_of
from program.common.sport import sport_in_json, sport_of
from program.engine.checks import CheckedChild, DayOfWork, Elsewhere, Settings
from program.engine.checks.session import STRENGTH
from program.engine.contact_ceilings import contact_ceiling
from program.engine.fit.limits import ceiling_now
from program.engine.prescription import PRESCRIBED, Prescription
from program.engine.sport import NOTHING_SAID, Sport
from program.engine.volume import VolumeSlot, volume
from program.engine.weeks import week_end
from program.models import AssignedSession, AssignedSlot, Block, CheckChange, Slot


@dataclass(frozen=True)
class Person:
    """A child as the checks see it: its key, enrolled from `start` to `end`, what is at home, its
    published sessions in other cohorts, and its sport outside the program."""

    child: int
    start: dt.date
    end: dt.date | None
    birth_date: dt.date
    growing_fast_until: dt.date | None
    is_placed_on_landing: bool
    home: frozenset[str]
    elsewhere: tuple[Elsewhere, ...] = ()
    sport: Sport = NOTHING_SAID

    def is_in(self, day: dt.date) -> bool:
        return self.start <= day and (self.end is None or day <= self.end)

    def ceiling_on(self, day: dt.date) -> int:
        """The most ground contacts for that day."""
        ceiling = contact_ceiling(age_on(self.birth_date, day))
        return ceiling_now(ceiling, in_growth_spurt=grows_fast(self.growing_fast_until, day))

    def checked(self, day: dt.date) -> CheckedChild:
        age = age_on(self.birth_date, day)
        return CheckedChild(self.child, self.ceiling_on(day), self.elsewhere, age)

    def in_week(self, starts: dt.date) -> CheckedChild:
        """As it is on the last of the seven days, with its sport outside the program in them."""
        last, outside = week_end(starts), self.sport.in_seven_days(starts)
        return replace(
            self.checked(last),
            sport_days=frozenset(outside.days),
            sport_hours=outside.hours,
        )


class People:
    """The children of a cohort over some days, and what its venue has."""

    def __init__(self, people: Sequence[Person], venue: frozenset[str]) -> None:
        self.all = people
        self.venue = venue
        self._on: dict[dt.date, list[Person]] = {}
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
        return tuple(person.checked(day) for person in self.on(day))

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
    cohort: Cohort, first: dt.date, last: dt.date, *, with_other_groups: bool = True
) -> CohortFacts:
    """One cohort's, as `facts_of_cohorts` has them."""
    of = facts_of_cohorts([cohort.pk], first, last, with_other_groups=with_other_groups)
    return of[cohort.pk]


def facts_of_cohorts(
    cohorts: Collection[int], first: dt.date, last: dt.date, *, with_other_groups: bool = True
) -> dict[int, CohortFacts]:
    """By cohort the children enrolled on any of these days and the checks as they are set, in one
    query; and in another one, if wanted, the children's sessions in other cohorts from the day
    before."""
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
    eve = first - dt.timedelta(days=1)
    elsewhere = _elsewhere(cohorts, eve, last) if with_other_groups else {}
    return {row.pk: _facts(row, elsewhere) for row in rows}


def _facts(row: Any, elsewhere: Mapping[int, Sequence[Elsewhere]]) -> CohortFacts:
    everybody = [
        _person(each, [one for one in elsewhere.get(each["child"], ()) if one.group != row.pk])
        for each in row.people
    ]
    changes = (CheckChange(**each) for each in row.changes)
    return CohortFacts(
        People(everybody, frozenset(row.venue)),
        {change.code: setting_of(change) for change in changes},
    )


def _people(first: dt.date, last: dt.date) -> Any:
    """The enrolments of a cohort on any of these days, for a subquery; kit None where nobody has
    said."""
    landing = Placement.objects.current().on_landing().filter(child=OuterRef("child"))
    kit = HomeKit.objects.filter(child=OuterRef("child"))
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
                home=ArraySubquery(kit.filter(items__isnull=False).values("items__slug")),
                sport=sport_in_json(first, last),
            )
        )
    )


def _person(row: dict[str, Any], elsewhere: Sequence[Elsewhere]) -> Person:
    return Person(
        row["child"],
        dt.date.fromisoformat(row["start"]),
        _day(row["end"]),
        dt.date.fromisoformat(row["birth_date"]),
        _day(row["growing_fast_until"]),
        row["lands"],
        frozenset(row["home"]) if row["has_said"] else USUAL_HOME_KIT,
        tuple(elsewhere),
        sport_of(row["sport"]),
    )


def _elsewhere(
    cohorts: Collection[int], first: dt.date, last: dt.date
) -> dict[int, list[Elsewhere]]:
    """By child of one of these cohorts, what it may do or has done in a cohort beside that one on
    these days: the sessions that were published to it, as they were fitted. One query."""
    theirs = Enrolment.objects.filter(cohort__in=cohorts, child=OuterRef("child"))
    sessions = AssignedSession.objects.open().filter(
        Exists(theirs.exclude(cohort=OuterRef("session__block__cohort"))), date__range=(first, last)
    )
    slots = AssignedSlot.objects.filter(assigned_session__in=sessions)
    columns = {name: F(f"revision__{name}") for name in (*DOSED, "loads")} | {
        "child": F("assigned_session__child"),
        "session": F("assigned_session__session"),
        "day": F("assigned_session__date"),
        "cohort": F("assigned_session__session__block__cohort"),
        "seconds": F("assigned_session__seconds"),
    }
    rows = slots.order_by("assigned_session").annotate(**columns)
    named: Any = rows.values_list(*columns, "rounds", *PRESCRIBED, named=True)
    by_session: dict[tuple[int, int], list[Any]] = defaultdict(list)
    for row in named:
        by_session[row.child, row.session].append(row)
    found: dict[int, list[Elsewhere]] = defaultdict(list)
    for (child, _), held in by_session.items():
        done, row = volume(slots_of(held)), held[0]
        contacts, is_strength = done.total.ground_contacts, not STRENGTH.isdisjoint(done.patterns)
        found[child].append(Elsewhere(row.day, row.cohort, contacts, is_strength, row.seconds / 60))
    return found


def _day(text: str | None) -> dt.date | None:
    return dt.date.fromisoformat(text) if text else None


def work_of(
    cohort: Cohort, first: dt.date, last: dt.date, but: Block | None = None
) -> list[DayOfWork]:
    """One cohort's, as `work_of_cohorts` has it."""
    return work_of_cohorts([cohort.pk], first, last, but).get(cohort.pk, [])


def work_of_cohorts(
    cohorts: Collection[int], first: dt.date, last: dt.date, but: Block | None = None
) -> dict[int, list[DayOfWork]]:
    """What each cohort's sessions of these days hold, one block left out if wished: one query."""
    slots = Slot.objects.filter(
        part__session__block__cohort__in=cohorts, part__session__date__range=(first, last)
    )
    if but is not None:
        slots = slots.exclude(part__session__block=but)
    rows = slots.filter(exercise__current__isnull=False).order_by("part__session")
    columns = {name: F(f"exercise__current__{name}") for name in (*DOSED, "loads")} | {
        "session": F("part__session"),
        "day": F("part__session__date"),
        "cohort": F("part__session__block__cohort"),
        "rounds": F("part__rounds"),
        "minutes": F("part__session__target_minutes"),
    }
    named: Any = rows.annotate(**columns).values_list(*columns, *PRESCRIBED, named=True)
    sessions: dict[int, list[Any]] = {}
    for row in named:
        sessions.setdefault(row.session, []).append(row)
    found: dict[int, list[DayOfWork]] = {}
    for each in sessions.values():
        row, done = each[0], volume(slots_of(each))
        found.setdefault(row.cohort, []).append(DayOfWork(row.day, done, row.minutes))
    return found


def slots_of(rows: Iterable[Any]) -> Iterable[VolumeSlot]:
    """Rows with an exercise's `DOSED` columns and loads, what is asked of it, and rounds; a dose
    nobody could do is left out."""
    for row in rows:
        try:
            dose = dose_of(row, Prescription.of(row))
        except ValueError:
            continue
        yield VolumeSlot(row.pattern, dose, row.rounds, frozenset(row.loads))
