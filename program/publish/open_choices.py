"""What is still to be chosen in a session, put together by what is in the way, so that one answer
does for all of it."""

import uuid
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple, Self

from django.utils.text import capfirst

from athletes.models import Child
from program.engine.fit.library import Need
from program.engine.fit.limits import HardLimits
from program.engine.fit.options import Option
from program.engine.fit.reasons import IN_SHORT, Reason, ReasonCode, for_coach
from program.engine.wording import listed
from program.fit.fitting import FittedSession
from program.fit.who_gets_what import Cell, WhoGetsWhat
from program.models import Lasts, Place

LANDING: Final = "landing"
NOT_PLACED: Final = "Not placed on landing yet"


class Proposal(NamedTuple):
    """A place to be filled, and the exercise proposed for it, if there is one."""

    cell: Cell
    option: Option | None

    @property
    def seen(self) -> "Seen":
        """As a form carries it: what was seen is what is done."""
        exercise = self.option.exercise.slug if self.option else ""
        return Seen(self.cell.slot.pk, self.cell.child.public_id, exercise)


@dataclass(frozen=True)
class OpenGroup:
    """The places that wait for one reason. `lacking` is, by child, what they cannot be filled
    without, where that is all that is in the way."""

    key: str
    title: str
    proposals: tuple[Proposal, ...]
    lacking: Mapping[Child, Sequence[Need]]
    is_at_home: bool

    @property
    def children(self) -> list[Child]:
        return list(dict.fromkeys(each.cell.child for each in self.proposals))

    @property
    def is_about_kit(self) -> bool:
        """Whether something is missing, and nothing else is in the way."""
        return bool(self.lacking)

    @property
    def can_ask(self) -> bool:
        """Whether the families may know better what is there."""
        return self.is_about_kit and self.is_at_home

    @property
    def instead(self) -> list[tuple[str, str, str, int]]:
        """What would be given for what, how near that is, and to how many."""
        counted = Counter(
            (str(each.cell.slot.exercise), each.option.exercise.name, each.option.near.value)
            for each in self.proposals
            if each.option
        )
        return [(*what, count) for what, count in counted.items()]

    @property
    def given_instead(self) -> list[str]:
        """The names of what would be given, each once."""
        return list(dict.fromkeys(given for _, given, _, _ in self.instead))

    @property
    def is_all_proposed(self) -> bool:
        return all(each.option for each in self.proposals)

    def as_seen(self, seen: Collection["Seen"]) -> list[Proposal]:
        """Those that are still as somebody saw them."""
        return [each for each in self.proposals if each.seen in seen]

    @property
    def is_about_landing(self) -> bool:
        """Whether nobody has placed these children on landing, which fit does not ask."""
        return self.key == LANDING

    @property
    def lasts(self) -> list[Lasts]:
        """How long an answer may hold, the usual first."""
        if self.is_about_landing:
            return [Lasts.LANDING, Lasts.BLOCK]
        return [Lasts.KIT, Lasts.BLOCK] if self.is_about_kit else [Lasts.BLOCK]


def landing_group(
    fitted: FittedSession, sheet: WhoGetsWhat, unplaced: Collection[int]
) -> OpenGroup | None:
    """What children would land in whom nobody has placed on landing, by key. It is not open: the
    session goes out with a reason, or without the landings, or once they are placed."""
    exercises = fitted.library.fit.by_slug
    proposals = tuple(
        Proposal(cell, None)
        for row in sheet.rows
        if row.child.pk in unplaced
        for cell, each in zip(row.cells, fitted.by_child[row.child.pk], strict=True)
        if each.given and exercises[each.given.exercise].lands
    )
    is_at_home = fitted.session.place == Place.HOME
    return OpenGroup(LANDING, NOT_PLACED, proposals, {}, is_at_home) if proposals else None


def open_groups(fitted: FittedSession, sheet: WhoGetsWhat) -> list[OpenGroup]:
    """Most places first."""
    by_key: dict[str, list[Cell]] = {}
    titles: dict[str, str] = {}
    for cell in sheet.open_cells:
        key, title = _in_the_way(fitted, cell)
        by_key.setdefault(key, []).append(cell)
        titles.setdefault(key, title)
    groups = [_group(fitted, key, titles[key], cells) for key, cells in by_key.items()]
    return sorted(groups, key=lambda group: -len(group.proposals))


def like(fitted: FittedSession, sheet: WhoGetsWhat, cell: Cell) -> list[Cell]:
    """The places of the same slot that wait for the same reason, without itself."""
    key, _ = _in_the_way(fitted, cell)
    return [
        each
        for each in sheet.open_cells
        if each.slot == cell.slot
        and each.child != cell.child
        and _in_the_way(fitted, each)[0] == key
    ]


def _group(fitted: FittedSession, key: str, title: str, cells: Sequence[Cell]) -> OpenGroup:
    proposals = tuple(
        Proposal(cell, next(fitted.suggestions(cell.slot, cell.child), None)) for cell in cells
    )
    lacking: dict[Child, list[Need]] = {}
    for cell in cells:
        lacking.setdefault(cell.child, []).extend(_lacking(fitted, cell))
    is_at_home = fitted.session.place == Place.HOME
    return OpenGroup(key, title, proposals, lacking if _is_kit(key) else {}, is_at_home)


def _is_kit(key: str) -> bool:
    return key.startswith("kit:")


def _lacking(fitted: FittedSession, cell: Cell) -> list[Need]:
    """What is missing for the written exercise, where nothing else is in its way."""
    written = fitted.library.fit.by_slug.get(cell.slot.exercise.slug)
    if written is None:
        return []
    limits = HardLimits(fitted.circumstances[cell.child.pk])
    if any(each.code is not ReasonCode.NEED_UNMET for each in limits.broken_by(written)):
        return []
    return list(limits.lacking(written))


def _in_the_way(fitted: FittedSession, cell: Cell) -> tuple[str, str]:
    """What is in the way, as a key and in words."""
    if needs := _lacking(fitted, cell):
        items = sorted({item for need in needs for item in need.items})
        words = listed(for_coach(Reason(ReasonCode.NEED_UNMET, need=need.what)) for need in needs)
        return f"kit:{','.join(items)}", capfirst(words)
    first = cell.reasons[0]
    if first.code is ReasonCode.RESTRICTED:
        place = f"{first.region}:{first.side}:{first.kind}"
        return f"{first.code}:{place}", capfirst(for_coach(first._replace(instead="")))
    return first.code, capfirst(IN_SHORT[first.code])


class Seen(NamedTuple):
    """A proposal as it was seen and sent back."""

    slot: int
    child: uuid.UUID
    exercise: str

    def __str__(self) -> str:
        return f"{self.slot}:{self.child}:{self.exercise}"

    @classmethod
    def parse(cls, value: str) -> Self | None:
        """None for what no form of ours has sent."""
        slot, _, rest = value.partition(":")
        child, _, exercise = rest.partition(":")
        try:
            return cls(int(slot), uuid.UUID(child), exercise)
        except ValueError:
            return None
