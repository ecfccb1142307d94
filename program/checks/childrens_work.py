"""What each child of some cohorts has done and will do, in whatever group: a child is one body.

What was sent counts as it was fitted as far as its landings go, and by what is written in all
else, unless a log says that it was not done; where a session was sent to others and not to the
child, the child has nothing of it. What is not published yet counts as it is written, for whoever
is in the cohort that day. Two queries, however many children, cohorts and weeks.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from django.contrib.postgres.aggregates import ArrayAgg
from django.db.models import CharField, F, IntegerField, Q, Value
from django.db.models.fields import DecimalField
from django.db.models.functions import Coalesce

from athletes.models import Enrolment, EnrolmentQuerySet
from library.landing import ContactClass, class_counted
from library.models.exercises import lands
from program.common.session_plan import DOSED, WORKED, Plan, dose_of, volume_slot
from program.engine.checks import DayOfWork, Elsewhere, Landings, WorkByDay
from program.engine.checks.session import STRENGTH
from program.engine.checks.week import WEEKS_BEFORE
from program.engine.prescription import PRESCRIBED, Prescription
from program.engine.volume import Volume, VolumeSlot, contacts_together, volume
from program.engine.weeks import A_WEEK
from program.models import (
    AssignedSession,
    AssignedSlot,
    Block,
    CompletionState,
    Session,
    Slot,
)


@dataclass(frozen=True)
class Written:
    """A session that is written and takes place, by its key, with its cohort's and what it
    holds."""

    key: int
    cohort: int
    on: dt.date
    is_published: bool
    volume: Volume
    minutes: int

    @classmethod
    def of(cls, session: Session, plan: Plan) -> "Written":
        return cls(
            session.pk,
            session.block.cohort_id,
            session.date,
            session.is_published,
            plan.volume,
            session.target_minutes,
        )

    @cached_property
    def day(self) -> DayOfWork:
        return DayOfWork(self.on, self.volume, self.minutes)

    @cached_property
    def contacts(self) -> Mapping[ContactClass, float]:
        return self.volume.contacts_by_class

    @cached_property
    def is_strength(self) -> bool:
        return not STRENGTH.isdisjoint(self.volume.patterns)


class Enrolled(NamedTuple):
    """A time of a child in a cohort, by its key."""

    cohort: int
    start: dt.date
    end: dt.date | None

    def holds(self, day: dt.date) -> bool:
        return self.start <= day and (self.end is None or day <= self.end)


class Held(NamedTuple):
    """What a child has of a session that was sent to it, and has not left undone: the day it did or
    will do it, and its ground contacts by class."""

    on: dt.date
    contacts: Mapping[ContactClass, float] = MappingProxyType({})


type HeldByChild = Mapping[int, Mapping[int, Held]]
"""By child and session, all by their keys."""


@dataclass(frozen=True)
class OwnWork:
    """What a child does: its sessions in other groups, its landings, and all its work, which is the
    cohort's but for the days on which it `differs`."""

    elsewhere: tuple[Elsewhere, ...] = ()
    landings: Landings | None = None
    work: WorkByDay | None = None
    differs: frozenset[dt.date] = frozenset()


class ChildrensWork:
    """`written` are the cohorts' sessions, and those of the other cohorts of their children."""

    def __init__(self, written: Iterable[Written], held: HeldByChild) -> None:
        self._written = {each.key: each for each in written}
        self._held = held
        self._works: dict[frozenset[int], WorkByDay] = {}
        self._drafts: dict[Enrolled, list[Written]] = {}

    @cached_property
    def _of_cohorts(self) -> Mapping[int, Sequence[Written]]:
        found: dict[int, list[Written]] = defaultdict(list)
        for each in self._written.values():
            found[each.cohort].append(each)
        return found

    def of(self, child: int, cohort: int, enrolled: Sequence[Enrolled]) -> OwnWork:
        """A child's, as the one cohort's checks see it; `enrolled` are all its times in cohorts."""
        held = self._held.get(child, {})
        drafts = [each for time in enrolled for each in self._drafts_in(time)]
        own = frozenset((*(key for key in held if key in self._written), *(d.key for d in drafts)))
        of_cohort = frozenset(each.key for each in self._of_cohorts.get(cohort, ()))
        return OwnWork(
            tuple(self._elsewhere(cohort, held, drafts)),
            _landings(held, drafts),
            self._work(own),
            frozenset(self._written[key].on for key in own ^ of_cohort),
        )

    def _drafts_in(self, time: Enrolled) -> list[Written]:
        """What is written for a cohort in that time and not published yet."""
        if time not in self._drafts:
            self._drafts[time] = [
                each
                for each in self._of_cohorts.get(time.cohort, ())
                if not each.is_published and time.holds(each.on)
            ]
        return self._drafts[time]

    def _work(self, sessions: frozenset[int]) -> WorkByDay:
        if sessions not in self._works:
            self._works[sessions] = WorkByDay(self._written[key].day for key in sessions)
        return self._works[sessions]

    def _elsewhere(
        self, cohort: int, held: Mapping[int, Held], drafts: Iterable[Written]
    ) -> Iterator[Elsewhere]:
        for key, has in held.items():
            each = self._written.get(key)
            if each and each.cohort != cohort:
                yield _there(each, has.on, has.contacts)
        for each in drafts:
            if each.cohort != cohort and each.volume.patterns:
                yield _there(each, each.on, each.contacts)


def _there(session: Written, on: dt.date, contacts: Mapping[ContactClass, float]) -> Elsewhere:
    total, minutes = sum(contacts.values()), session.minutes
    return Elsewhere(on, session.cohort, total, session.is_strength, minutes, contacts)


def _landings(held: Mapping[int, Held], drafts: Iterable[Written]) -> Landings:
    found: dict[dt.date, float] = defaultdict(float)
    for has in held.values():
        found[has.on] += sum(has.contacts.values())
    for each in drafts:
        found[each.on] += sum(each.contacts.values())
    return dict(found)


def since(first: dt.date) -> dt.date:
    """From when on work counts for a week that starts on that day."""
    return first - WEEKS_BEFORE * A_WEEK


def enrolments_of(cohorts: Collection[int], first: dt.date, last: dt.date) -> EnrolmentQuerySet:
    """Those on any of these days."""
    running = Enrolment.objects.filter(cohort__in=cohorts, start__lte=last)
    return running.running_after(first - dt.timedelta(days=1))


def written_for(
    cohorts: Collection[int], first: dt.date, last: dt.date, but: Block | None = None
) -> list[Written]:
    """What the sessions of these cohorts, and of the others that their children are in, hold on
    these days; without those called off, and without one block's if wished. One query."""
    children = enrolments_of(cohorts, first, last).values("child")
    others = Enrolment.objects.filter(child__in=children).values("cohort")
    meant = Q(part__session__block__cohort__in=cohorts) | Q(part__session__block__cohort__in=others)
    slots = Slot.objects.filter(
        meant, part__session__date__range=(first, last), part__session__called_off_at=None
    )
    if but is not None:
        slots = slots.exclude(part__session__block=but)
    rows = slots.filter(exercise__current__isnull=False).order_by("part__session")
    columns = {name: F(f"exercise__current__{name}") for name in WORKED} | {
        "session": F("part__session"),
        "day": F("part__session__date"),
        "published": F("part__session__published_at"),
        "cohort": F("part__session__block__cohort"),
        "rounds": F("part__rounds"),
        "minutes": F("part__session__target_minutes"),
    }
    named: Any = rows.annotate(**columns).values_list(*columns, *PRESCRIBED, named=True)
    sessions: dict[int, list[Any]] = defaultdict(list)
    for row in named:
        sessions[row.session].append(row)
    return [
        Written(
            key,
            held[0].cohort,
            held[0].day,
            held[0].published is not None,
            volume(slots_of(held)),
            held[0].minutes,
        )
        for key, held in sessions.items()
    ]


def slots_of(rows: Iterable[Any]) -> Iterable[VolumeSlot]:
    """Rows with an exercise's `WORKED` columns, what is asked of it, and rounds; a dose
    nobody could do is left out."""
    for row in rows:
        try:
            dose = dose_of(row, Prescription.of(row))
        except ValueError:
            continue
        yield volume_slot(row, dose, row.rounds)


_NO_LANDING: Final = {
    "measure": Value("", CharField()),
    "sides": Value("", CharField()),
    "pattern": Value("", CharField()),
    "contacts": Value(None, DecimalField()),
    "no_landing_because": Value("", CharField()),
    "contact_class": Value("", CharField()),
    "asked": Value(None, IntegerField()),
    "in_rounds": Value(None, IntegerField()),
}


def held_by_children(cohorts: Collection[int], first: dt.date, last: dt.date) -> HeldByChild:
    """What the children of these cohorts have of what was sent to them, in whatever cohort, for
    these days. One query, in which children with the same are one row."""
    children = enrolments_of(cohorts, first, last).values("child")
    sessions = (
        AssignedSession.objects.open()
        .filter(child__in=children, date__range=(first, last))
        .exclude(completion__state=CompletionState.NOT_DONE)
        .order_by()
    )
    landing = (
        AssignedSlot.objects.filter(lands("revision__"), assigned_session__in=sessions)
        .order_by()
        .annotate(
            **{name: F(f"revision__{name}") for name in (*DOSED, "contact_class")},
            asked=F("amount"),
            in_rounds=F("rounds"),
            of=F("assigned_session__session"),
            on=Coalesce("assigned_session__completion__done_on", "assigned_session__date"),
        )
        .values("of", "on", *_NO_LANDING)
        .annotate(children=ArrayAgg("assigned_session__child"))
    )
    every = (
        sessions.annotate(
            **_NO_LANDING, of=F("session"), on=Coalesce("completion__done_on", "date")
        )
        .values("of", "on", *_NO_LANDING)
        .annotate(children=ArrayAgg("child"))
    )
    found: dict[int, dict[int, Held]] = defaultdict(dict)
    columns = ("of", "on", *_NO_LANDING, "children")
    rows: Any = every.union(landing, all=True).order_by().values_list(*columns, named=True)
    for row in rows:
        contacts = _contacts_of(row) if row.measure else {}
        for child in row.children:
            so_far = found[child].get(row.of, Held(row.on))
            together = contacts_together((so_far.contacts, contacts))
            found[child][row.of] = so_far._replace(contacts=together)
    return found


def _contacts_of(row: Any) -> dict[ContactClass, float]:
    contacts = dose_of(row, Prescription(row.asked)).ground_contacts * row.in_rounds
    return {class_counted(row): contacts}
