"""What exercises are meant to do across a block: shown as lanes, and followed by its drafts.

What is published stays as it was sent; only drafts follow.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from django.db.models import F

from library.models import ExerciseRevision
from program.common.session_plan import amounts_of
from program.engine.outline import is_work
from program.engine.progression import ProgressionKind, ProgressionRule
from program.models import Block, Part, Progression, Session, Slot

if TYPE_CHECKING:
    from athletes.models import User


@dataclass(frozen=True)
class Place:
    """A slot in its part and session."""

    session: Session
    part: Part
    slot: Slot


@dataclass(frozen=True)
class LaneWeek:
    """One week of a lane: where the exercise stands in it, and what is meant for it; `nth` counts
    the weeks in which it stands from 0, and is None where it does not, and before it begins."""

    number: int
    nth: int | None
    places: tuple[Place, ...]
    rule: ProgressionRule
    revision: ExerciseRevision | None

    @property
    def amount(self) -> int | None:
        return None if self.nth is None else self.rule.amount(self.nth)

    @property
    def rounds(self) -> int | None:
        return None if self.nth is None else self.rule.rounds(self.nth)

    @property
    def is_deload(self) -> bool:
        return self.nth is not None and self.rule.is_deload(self.nth)

    @property
    def is_published(self) -> bool:
        return any(place.session.is_published for place in self.places)

    @property
    def deviating(self) -> list[Place]:
        """Where something else is written than is meant."""
        return [place for place in self.places if self.deviates(place)]

    def deviates(self, place: Place) -> bool:
        return self.nth is not None and self._is_another(place)

    def _is_another(self, place: Place) -> bool:
        return place.slot.amount != self.amount or self.rounds not in {None, place.part.rounds}

    @property
    def written(self) -> str:
        """What stands there, where it is not what is meant."""
        told = (
            f"{each.slot.amount}" + (f" × {each.part.rounds}" if self.rounds else "")
            for each in self.deviating
        )
        return ", ".join(dict.fromkeys(told))

    @property
    def problem(self) -> str:
        """How the amount meant leaves the range of the exercise; "" where it does not."""
        if self.amount is None or self.revision is None:
            return ""
        return amounts_of(self.revision).outside(self.amount)


@dataclass(frozen=True)
class ProgressionLane:
    """A progression over the weeks of its block."""

    progression: Progression
    name: str
    weeks: tuple[LaneWeek, ...]

    @property
    def first(self) -> Place | None:
        return next((place for week in self.weeks for place in week.places), None)

    @property
    def to_follow(self) -> list[tuple[LaneWeek, Place]]:
        """Drafts in which something else is written."""
        return [
            (week, place)
            for week in self.weeks
            for place in week.deviating
            if not place.session.is_published
        ]

    @property
    def stays(self) -> int:
        """Published sessions that say something else, and stay as they were sent."""
        deviating = (place for week in self.weeks for place in week.deviating)
        return len({place.session.pk for place in deviating if place.session.is_published})

    @property
    def follows(self) -> int:
        """Drafts that would be changed."""
        return len({place.session.pk for _, place in self.to_follow})

    @property
    def arrives(self) -> str:
        """Where a growing amount gets to within the block; "" for one that does not grow."""
        rule, used = self.progression.rule, [w for w in self.weeks if w.nth is not None]
        if rule.kind is not ProgressionKind.GROW or not used:
            return ""
        last = used[-1]
        if last.amount != rule.top:
            return f"It gets to {last.amount} in week {last.number}, its last, not to {rule.top}."
        there = next(week for week in used if week.amount == rule.top)
        stays = "" if there is last else " and stays there"
        return f"It gets to {rule.top} in week {there.number}{stays}."

    @property
    def problems(self) -> list[str]:
        """What leaves the exercise's range, the weeks of one amount together."""
        weeks: dict[tuple[int | None, str], list[int]] = {}
        for week in self.weeks:
            if week.problem:
                weeks.setdefault((week.amount, week.problem), []).append(week.number)
        return [
            f"Week{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}: {amount} is"
            f" {problem}."
            for (amount, problem), numbers in weeks.items()
        ]


@dataclass(frozen=True)
class ProgressionSheet:
    """All lanes of a block, for `board/progressions.html`."""

    block: Block
    lanes: tuple[ProgressionLane, ...]

    @cached_property
    def to_follow(self) -> int:
        """Drafts that do not say what is meant."""
        return len({place.session.pk for lane in self.lanes for _, place in lane.to_follow})

    @property
    def numbers(self) -> range:
        return range(1, self.block.weeks + 1)


@dataclass(frozen=True)
class Followed:
    """How many drafts were changed, and how many published sessions say something else and stay."""

    changed: int
    stay: int


def progression_sheet(block: Block, sessions: Sequence[Session]) -> ProgressionSheet:
    """`sessions` are all of the block's, with parts, slots and exercises: one query."""
    progressions = Progression.objects.filter(block=block)
    return ProgressionSheet(block, tuple(lane_of(each, block, sessions) for each in progressions))


def lane_of(progression: Progression, block: Block, sessions: Iterable[Session]) -> ProgressionLane:
    places: dict[int, list[Place]] = {}
    for place in _places(progression, sessions):
        places.setdefault(block.week_of(place.session.date), []).append(place)
    exercise = next((each[0].slot.exercise for each in places.values()), None)
    begun = (week for week in sorted(places) if week >= progression.first_week)
    nth = {week: n for n, week in enumerate(begun)}
    rule, revision = progression.rule, exercise.current if exercise else None
    weeks = tuple(
        LaneWeek(number, nth.get(number), tuple(places.get(number, ())), rule, revision)
        for number in range(1, block.weeks + 1)
    )
    return ProgressionLane(progression, str(exercise or "Not written any more"), weeks)


def follow(block: Block, sessions: Sequence[Session], by: "User", now: dt.datetime) -> Followed:
    """Let the drafts say what is meant. In a transaction, with the sessions locked."""
    lanes = progression_sheet(block, sessions).lanes
    slots, parts, changed = [], [], set()
    for week, place in (pair for lane in lanes for pair in lane.to_follow):
        if week.amount is not None and place.slot.amount != week.amount:
            place.slot.amount = week.amount
            slots.append(place.slot)
        if week.rounds is not None and place.part.rounds != week.rounds:
            place.part.rounds = week.rounds
            parts.append(place.part)
        changed.add(place.session.pk)
    _write_up(Slot, slots, "amount")
    _write_up(Part, parts, "rounds")
    Session.objects.filter(pk__in=changed).update(
        version=F("version") + 1, edited_by=by, edited_at=now
    )
    published = {
        place.session.pk
        for lane in lanes
        for week in lane.weeks
        for place in week.deviating
        if place.session.is_published
    }
    return Followed(len(changed), len(published))


def wave_beside(slot: Slot, waves: Mapping[int, Progression]) -> Progression | None:
    """Another exercise's wave that already sets the rounds of this slot's part, if there is one;
    `waves` are the block's, in sessions of the same name, by exercise."""
    others = (each for each in slot.part.slots.all() if each.exercise_id != slot.exercise_id)
    return next((waves[each.exercise_id] for each in others if each.exercise_id in waves), None)


def _places(progression: Progression, sessions: Iterable[Session]) -> Iterator[Place]:
    """A warm-up or cool-down is left alone, unless the exercise stands nowhere else: then it is
    what the coach meant."""
    for session in sessions:
        if session.name != progression.session_name:
            continue
        places = [
            Place(session, part, slot)
            for part in session.parts.all()
            for slot in part.slots.all()
            if slot.exercise_id == progression.exercise_id
        ]
        yield from [place for place in places if is_work(place.part)] or places


def _write_up[Row: (Slot, Part)](model: type[Row], rows: Sequence[Row], field: str) -> None:
    """Write one field of each row, and raise its version for whoever edits it at the moment."""
    for row in rows:
        row.version += 1
    model._default_manager.bulk_update(rows, [field, "version"])
