"""The builder's page as its template reads it: sheets of rows, each with its form and its words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.http import Http404
from django.urls import reverse

from library.models import Exercise, ExerciseRevision
from library.shared.lanes import Lane
from program.build.forms import PartForm, SlotForm
from program.build.minutes import Proposed
from program.build.undoing import Deleted, Edit
from program.common.idempotency import new_idempotency_key
from program.common.lanes import Amount, Bar, PartTime, bars, session_lane
from program.common.session_plan import Plan, plan_of
from program.common.volume_tables import VolumeSheet, volume_sheet
from program.engine.volume import Volume
from program.engine.wording import clock, pattern_in_words
from program.models import FitRule, Part, PartKind, Session, Slot

MOST_FOUND = 8
PLACES_SHOWN = 3
"""Of so many of the last edits the place of what they deleted is shown."""


@dataclass(frozen=True)
class DeletedRow:
    """The place of something deleted, with the edit that undoing it undoes."""

    item: Deleted
    edit: str
    is_deleted = True


@dataclass(frozen=True)
class SlotRow:
    slot: Slot
    form: SlotForm
    problem: str = ""
    warning: str = ""

    @property
    def key(self) -> str:
        return f"slot-{self.slot.pk}"

    @property
    def url(self) -> str:
        return reverse("program:slot", args=[self.slot.part.session_id, self.slot.pk])

    @property
    def version(self) -> int:
        return self.slot.version

    @property
    def revision(self) -> ExerciseRevision | None:
        return self.slot.exercise.current

    @property
    def usual(self) -> str:
        """The range the exercise is used with, and whether the dose leaves it."""
        revision = self.revision
        if revision is None:
            return ""
        low, high = revision.low, revision.high
        if self.slot.amount < low:
            return f"less than the usual {low} to {high}"
        if self.slot.amount > high:
            return f"more than the usual {low} to {high}"
        return f"usually {low} to {high}"

    @property
    def beyond(self) -> str:
        """What stands beside amount and tempo where it is not as usual, in a few words."""
        slot = self.slot
        told = [
            "" if slot.rest_seconds is None else f"rest {slot.rest_seconds} s",
            "" if slot.rule == FitRule.EASIER_WHERE_NEEDED else slot.get_rule_display(),
            slot.note,
        ]
        return " · ".join(filter(None, told))

    @property
    def is_unusual(self) -> bool:
        return not self.usual.startswith("usually")


@dataclass(frozen=True)
class Found:
    """What a search in one part came to."""

    q: str
    exercises: list[Exercise]
    error: str = ""


@dataclass(frozen=True)
class PartSheet:
    part: Part
    form: PartForm
    seconds: int
    rows: list[SlotRow | DeletedRow]
    found: Found | None = None
    warning: str = ""

    @property
    def key(self) -> str:
        return f"part-{self.part.pk}"

    @property
    def url(self) -> str:
        return reverse("program:part", args=[self.part.session_id, self.part.pk])

    @property
    def version(self) -> int:
        return self.part.version

    @property
    def clock(self) -> str:
        return clock(self.seconds)


@dataclass(frozen=True)
class Panel:
    """What the session comes to, at the builder's right."""

    plan: Plan
    target_minutes: int

    @property
    def minutes(self) -> int:
        return round(self.plan.seconds / 60)

    @property
    def clock(self) -> str:
        """To the second: the parts' add up to it, and so do the ways in which it is spent."""
        return clock(self.plan.seconds)

    @property
    def spent(self) -> list[tuple[str, str]]:
        """What the time goes into, without what takes none."""
        return [(what.value, clock(seconds)) for what, seconds in self.plan.spent if seconds]

    @property
    def over(self) -> int:
        """Minutes over the ones that were wanted; 0 where it fits."""
        return max(0, self.minutes - self.target_minutes)

    @cached_property
    def lane(self) -> Lane:
        seconds = self.plan.part_seconds
        parts = [
            PartTime(part.name, seconds[part.key])
            for part in self.plan.parts
            if part.key in seconds
        ]
        return session_lane("The session", parts)

    @property
    def sets(self) -> tuple[Bar, ...]:
        return bars(_amounts_by_pattern(self.plan.volume))

    @cached_property
    def sheet(self) -> VolumeSheet:
        return volume_sheet(self.plan.volume)

    @property
    def totals(self) -> list[str]:
        work = self.plan.volume.total
        told = [
            (work.repetitions, "repetitions"),
            (work.hold_seconds, "seconds of holds and bouts"),
            (work.metres, "metres"),
            (round(work.ground_contacts), "ground contacts"),
        ]
        return [f"{amount} {what}" for amount, what in told if amount]


@dataclass
class Builder:
    """One session being built, for one coach, whose last `edits` can be undone.

    What the page answers to comes by key, "part-3" or "slot-12": forms that were not accepted,
    warnings, what a search found, and which of them gets the focus. `said` is a sentence about the
    whole; `minutes` are those that the session is to be brought to.
    """

    session: Session
    edits: Sequence[Edit]
    forms: Mapping[str, Any] = field(default_factory=dict)
    warnings: Mapping[str, str] = field(default_factory=dict)
    found: Mapping[str, Found] = field(default_factory=dict)
    focus: str = ""
    said: str = ""
    minutes: int | None = None

    def __post_init__(self) -> None:
        self.idempotency_key = new_idempotency_key()

    @property
    def last_edit(self) -> Edit | None:
        return self.edits[-1] if self.edits else None

    @cached_property
    def plan(self) -> Plan:
        return plan_of(self.session)

    @cached_property
    def panel(self) -> Panel:
        return Panel(self.plan, self.session.target_minutes)

    @cached_property
    def proposed(self) -> Proposed | None:
        """How the session would come to the minutes that were asked for."""
        if self.minutes is None:
            return None
        return Proposed(self.minutes, self.plan, self.session.version)

    @property
    def week(self) -> int:
        return self.session.block.week_of(self.session.date)

    @property
    def kinds(self) -> list[tuple[str, str]]:
        return list(PartKind.choices)

    @cached_property
    def sheets(self) -> list[PartSheet | DeletedRow]:
        sheets = [self.sheet(part) for part in self.session.parts.all()]
        return _with_gaps(sheets, self._deleted("part", self.session.pk))

    @property
    def clocks(self) -> list[tuple[str, str]]:
        """Each part's key and how long it takes."""
        keys = [f"part-{part.pk}" for part in self.session.parts.all()]
        return [(key, clock(self.plan.part_seconds.get(key, 0))) for key in keys]

    def sheet_of(self, part_id: int) -> PartSheet:
        for part in self.session.parts.all():
            if part.pk == part_id:
                return self.sheet(part)
        raise Http404

    def row_of(self, slot_id: int) -> SlotRow:
        for slot in self.session.all_slots():
            if slot.pk == slot_id:
                return self.row(slot)
        raise Http404

    def sheet(self, part: Part) -> PartSheet:
        key = f"part-{part.pk}"
        rows = [self.row(slot) for slot in part.slots.all()]
        return PartSheet(
            part=part,
            form=self.forms.get(key) or PartForm(instance=part),
            seconds=self.plan.part_seconds.get(key, 0),
            rows=_with_gaps(rows, self._deleted("slot", part.pk)),
            found=self.found.get(key),
            warning=self.warnings.get(key, ""),
        )

    def row(self, slot: Slot) -> SlotRow:
        key = f"slot-{slot.pk}"
        return SlotRow(
            slot=slot,
            form=self.forms.get(key) or SlotForm(instance=slot, revision=slot.exercise.current),
            problem=self.plan.problems.get(key, ""),
            warning=self.warnings.get(key, ""),
        )

    def _deleted(self, kind: str, within_id: int) -> list[DeletedRow]:
        return [
            DeletedRow(out, edit.key)
            for edit in self.edits[-PLACES_SHOWN:]
            if (out := edit.deleted) and (out.kind, out.within_id) == (kind, within_id)
        ]


def find_exercises(q: str) -> Found:
    """Published exercises that a coach may mean, best first."""
    return Found(q, list(Exercise.objects.published().with_current().search(q)[:MOST_FOUND]))


def _amounts_by_pattern(volume: Volume) -> list[Amount]:
    sets = {pattern: volume.of_pattern(pattern).sets for pattern in volume.patterns_by_sets}
    return [Amount(pattern_in_words(pattern), count, str(count)) for pattern, count in sets.items()]


def _with_gaps[Row](rows: list[Row], deleted: list[DeletedRow]) -> list[Row | DeletedRow]:
    """The rows with the places of what was taken out among them."""
    filled: list[Row | DeletedRow] = list(rows)
    for row in sorted(deleted, key=lambda row: row.item.position):
        filled.insert(min(row.item.position, len(filled)), row)
    return filled
