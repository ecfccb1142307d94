"""A session and a week as a family sees them. Nothing here but `taken_back_in` queries: sessions
come `with_slots()`, weeks from `family_loaders.sessions_of`."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby
from typing import Final

from django.utils.text import capfirst

from athletes.models import Child, Restriction
from library.shared.dates import short_weekday_and_date
from library.shared.lanes import Lane, MarkKind
from program.common.addresses import address
from program.common.lanes import Day, PartTime, mark_of, session_lane, week_lane
from program.common.session_plan import Plan, Ready, easier_of, items_needed, plan_of
from program.common.wording import dose_in_words, minutes, nth_of, number, why
from program.engine.dose.dose import Dose
from program.engine.fit.limits import ReturnStep
from program.engine.fit.reasons import Reason, ReasonCode, for_family
from program.engine.timeline import PartKind
from program.engine.weeks import A_WEEK, days_of_week, monday_of
from program.family.figures import tempo_of
from program.family.sport import WeekSport
from program.models import AssignedSession, AssignedSlot, Outcome, Recall, Session, WayBackStep

_ABOUT_KIT: Final = {ReasonCode.NEED_UNMET, ReasonCode.KIT_NOT_TOLD}
_LESS: Final = {ReasonCode.COMING_BACK_LESS, ReasonCode.LIGHTER_WEEK}


def marks_of(session: AssignedSession, today: dt.date) -> tuple[MarkKind, ...]:
    """A session's marks on a lane; `hurts` is annotated. What is called off is not to be done."""
    hurt: tuple[MarkKind, ...] = ("hurt",) if getattr(session, "hurts", 0) else ()
    if session.is_called_off:
        return hurt
    log = getattr(session, "completion", None)
    return (mark_of(log.state if log else "", session.date, today), *hurt)


def taken_back_in(session: AssignedSession) -> list[str]:
    """Which of its exercises were taken back for everybody, and why; in one query."""
    slots = session.slots.all()
    held = {slot.revision.exercise_id for slot in slots}
    held |= {slot.easier_revision.exercise_id for slot in slots if slot.easier_revision}
    recalls = Recall.objects.standing().filter(exercise__in=held)
    return [
        _taken_back(str(each.exercise), each)
        for each in recalls.select_related("exercise__current").order_by("pk")
    ]


def _taken_back(exercise: str, recall: Recall) -> str:
    return for_family(Reason(ReasonCode.RECALLED, exercise=exercise, detail=recall.words))


_FOR_NOW: Final = {
    ReturnStep.PAIN_FREE: "nothing loads it before there was a day without pain",
    ReturnStep.EASIER: "with easier exercises for now",
    ReturnStep.HALF: "with half as much for now",
}


def spared_now(rules: Iterable[Restriction], steps: Iterable[WayBackStep]) -> list[str]:
    """What a coach has decided to spare, and the ways back, each in a sentence; those in force."""
    return [*(_spared_until(each) for each in rules), *(_on_its_way(each) for each in steps)]


def _spared_until(rule: Restriction) -> str:
    until = short_weekday_and_date(rule.until)
    return f"{rule.rule} until {until}." if rule.region else f"No session until {until}."


def _on_its_way(step: WayBackStep) -> str:
    if step.until:
        return f"A lighter week until {short_weekday_and_date(step.until)}."
    return f"{capfirst(step.where)}: on its way back, {_FOR_NOW[ReturnStep(step.step)]}."


@dataclass(frozen=True)
class Easier:
    """The easier option sent along with a slot."""

    name: str
    dose: str
    plain: str
    setup: str


@dataclass(frozen=True)
class ReadSlot:
    """One exercise to read: the slot with its dose and its needs in words, and the tempo that it is
    drawn at."""

    slot: AssignedSlot
    dose: str
    tempo: str
    ready: tuple[Ready, ...]
    easier: Easier | None
    why: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class ReadPart:
    """A part to read. `how` says how its rounds are done."""

    name: str
    how: str
    minutes: int
    slots: tuple[ReadSlot, ...]


@dataclass(frozen=True)
class SessionPage:
    """What a family reads of one session. `notes` are what coaches say to everybody who does an
    exercise, by its id."""

    assigned: AssignedSession
    notes: Mapping[int, tuple[str, ...]] = field(default_factory=dict)

    @cached_property
    def plan(self) -> Plan:
        return plan_of(self.assigned)

    @property
    def minutes(self) -> int:
        return minutes(self.assigned.seconds)

    @cached_property
    def lane(self) -> Lane:
        seconds = self.plan.part_seconds
        parts = [PartTime(part.name, seconds.get(part.key, 0)) for part in self.plan.parts]
        return session_lane(self.assigned.name, parts, tinted=0)

    @cached_property
    def ready(self) -> tuple[Ready, ...]:
        return self.plan.ready

    @cached_property
    def changes(self) -> list[str]:
        """What fit changed for this child, each in a sentence with its reason."""
        slots = [each.slot for part in self.parts for each in part.slots]
        changed = [slot for slot in slots if slot.outcome != Outcome.AS_WRITTEN or _is_less(slot)]
        return list(dict.fromkeys(_why(slot) for slot in changed))

    @property
    def hangs_on_kit(self) -> bool:
        """Whether something here is as it is because of what the family said is at home."""
        reasons = (reason for slot in self.assigned.slots.all() for reason in slot.reasons)
        return any(reason["code"] in _ABOUT_KIT for reason in reasons)

    @cached_property
    def watched(self) -> list[str]:
        """The exercises a grown-up watches."""
        slots = self.assigned.slots.all()
        return list(dict.fromkeys(slot.revision.name for slot in slots if slot.revision.watch))

    @cached_property
    def parts(self) -> list[ReadPart]:
        doses = {slot.key: slot.dose for part in self.plan.parts for slot in part.slots}
        seconds = self.plan.part_seconds
        return [
            _read_part(list(group), doses, seconds.get(f"part-{position}", 0), self.notes)
            for position, group in groupby(
                self.assigned.slots.all(), key=lambda slot: slot.part_position
            )
        ]


def _is_less(slot: AssignedSlot) -> bool:
    """Whether it is less than written, on the way back."""
    return any(reason["code"] in _LESS for reason in slot.reasons)


def _read_part(
    slots: Sequence[AssignedSlot],
    doses: dict[str, Dose | None],
    seconds: int,
    notes: Mapping[int, tuple[str, ...]],
) -> ReadPart:
    head = slots[0]
    return ReadPart(
        head.part_name,
        how_rounds_go(head.part_kind, head.rounds, head.part_rest_seconds, len(slots)),
        minutes(seconds),
        tuple(_read_slot(slot, doses[f"slot-{slot.pk}"], notes) for slot in slots),
    )


def _read_slot(
    slot: AssignedSlot, dose: Dose | None, notes: Mapping[int, tuple[str, ...]]
) -> ReadSlot:
    return ReadSlot(
        slot,
        dose_in_words(dose) if dose else str(slot.amount),
        tempo_of(dose) if dose else "",
        items_needed([slot.revision]),
        _easier(slot),
        "" if slot.outcome == Outcome.AS_WRITTEN else _why(slot),
        notes.get(slot.revision.exercise_id, ()),
    )


def _easier(slot: AssignedSlot) -> Easier | None:
    easier = easier_of(slot)
    if easier is None:
        return None
    revision, dose = easier
    return Easier(revision.name, dose_in_words(dose), revision.plain, revision.setup)


def _why(slot: AssignedSlot) -> str:
    return why(slot.revision.name, slot.reasons)


def how_rounds_go(kind: str, rounds: int, rest_seconds: int, exercises: int) -> str:
    """How a part is done, for a parent: "Three rounds, one exercise after the other." """
    said = f"{number(rounds)} round{'' if rounds == 1 else 's'}"
    if exercises > 1 and rounds > 1:
        said += (
            ": all rounds of an exercise, then the next"
            if kind == PartKind.STRAIGHT
            else ": one of each exercise, then again from the first"
        )
    rest = f" Rest {rest_seconds} seconds between rounds." if rest_seconds and rounds > 1 else ""
    return f"{capfirst(said)}.{rest}"


@dataclass(frozen=True)
class WaitingSession:
    """A session that the coach has still to decide for the child; `why` says what was taken back
    from it for everybody."""

    on: dt.date
    name: str
    why: tuple[str, ...]

    @classmethod
    def of(cls, session: Session) -> "WaitingSession":
        """It comes from `loaders.waiting_for_coach`."""
        recalled: list[dict[str, str]] = getattr(session, "recalled", [])
        why = (_taken_back(each["exercise"], Recall(reason=each["reason"])) for each in recalled)
        return cls(session.date, session.name, tuple(why))


@dataclass(frozen=True)
class WeekSession:
    """A session as one line of a week; `state` says in words what came of it."""

    session: AssignedSession
    url: str
    minutes: int
    state: str
    is_logged: bool
    is_overdue: bool


@dataclass(frozen=True)
class FamilyWeek:
    """A child's week from Monday; `sessions` are all of it, in order, `waiting` what it has not
    been sent yet, and `sport` what it does elsewhere, for whoever may say so."""

    child: Child
    monday: dt.date
    today: dt.date
    sessions: tuple[AssignedSession, ...]
    waiting: tuple[WaitingSession, ...] = ()
    sport: WeekSport | None = None

    @property
    def before(self) -> dt.date:
        return self.monday - A_WEEK

    @property
    def after(self) -> dt.date:
        return self.monday + A_WEEK

    @property
    def is_this_week(self) -> bool:
        return self.monday == monday_of(self.today)

    @cached_property
    def lane(self) -> Lane:
        name = f"{self.child.given_name}’s week"
        return week_lane(name, [self._day(day) for day in days_of_week(self.monday)], self.today)

    def _day(self, day: dt.date) -> Day:
        there = [session for session in self.sessions if session.date == day]
        marks = tuple(mark for session in there for mark in marks_of(session, self.today))
        return Day(day, marks, address(there[0], self.child) if there else "")

    def on(self, day: dt.date) -> AssignedSession | None:
        """The session of a day: the first that is not logged, or else the first; one that is called
        off where there is no other."""
        there = [session for session in self.sessions if session.date == day]
        there.sort(key=lambda session: session.is_called_off)
        return next((s for s in there if not hasattr(s, "completion")), next(iter(there), None))

    def has_another_log(self, session: AssignedSession) -> bool:
        """Whether a second log of it waits; `another_log` is annotated."""
        ids = [each.pk for each in self.sessions if getattr(each, "another_log", False)]
        return session.pk in ids

    def place_of(self, session: AssignedSession) -> str:
        """ "3rd of three", "" if it is the only one."""
        ids = [each.pk for each in self.sessions]
        return nth_of(ids.index(session.pk), len(ids)) if session.pk in ids else ""

    def others(self, shown: AssignedSession | None) -> list[WeekSession]:
        return lines(
            (each for each in self.sessions if shown is None or each.pk != shown.pk),
            self.child,
            self.today,
        )


def lines(sessions: Iterable[AssignedSession], child: Child, today: dt.date) -> list[WeekSession]:
    return [_line(session, child, today) for session in sessions]


def _line(session: AssignedSession, child: Child, today: dt.date) -> WeekSession:
    log = getattr(session, "completion", None)
    is_off = session.is_called_off
    is_overdue = log is None and session.date < today and not is_off
    waiting = "not logged yet" if is_overdue else "today" if session.date == today else ""
    waiting = "called off" if is_off else waiting
    return WeekSession(
        session,
        address(session, child),
        minutes(session.seconds),
        str(log) if log else waiting,
        log is not None,
        is_overdue,
    )
