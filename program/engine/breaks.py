"""What becomes of a block's sessions that fall into school holidays or other days away.

They are dropped, or they and all that come after them are moved later by whole weeks, so that each
keeps its weekday and the order stays. What is published stays where the families have it.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from program.engine.weeks import A_DAY, A_WEEK, MOST_WEEKS


class InBreak(StrEnum):
    """What to do with sessions in a break: LATER moves them and all after, DROP takes them out."""

    LATER = "later"
    DROP = "drop"


def covers(away: Iterable[tuple[dt.date, dt.date]], first: dt.date, last: dt.date) -> bool:
    """Whether every day from the first to the last lies in one of these, first and last day
    included."""
    free = first
    for begins, ends in sorted(away):
        if begins <= free:
            free = max(free, ends + A_DAY)
    return free > last


@dataclass(frozen=True, slots=True)
class Placed:
    """A session of the block and its day; `key` is its id. `has_choices` where a coach decided in
    it for single children."""

    key: int
    name: str
    day: dt.date
    is_published: bool = False
    has_choices: bool = False


@dataclass(frozen=True, slots=True)
class Fate:
    """What becomes of a session: `to` another day, out where that is None, or it stays, and why."""

    placed: Placed
    to: dt.date | None
    stays: str = ""


@dataclass(frozen=True, slots=True)
class Cleared:
    """What becomes of the sessions that a break touches, and the block's last day after it."""

    fates: tuple[Fate, ...]
    ends_on: dt.date

    @property
    def changes(self) -> tuple[Fate, ...]:
        return tuple(fate for fate in self.fates if not fate.stays)


def clear(
    sessions: Sequence[Placed],
    first: dt.date,
    last: dt.date,
    way: InBreak,
    *,
    starts_on: dt.date,
    ends_on: dt.date,
) -> Cleared:
    """The sessions of a block from `starts_on` to `ends_on` around a break, first and last day
    included. Nothing moves where no session that may move lies in it."""
    within = [placed for placed in sessions if first <= placed.day <= last]
    by = _weeks_needed(within, last)
    if way is InBreak.DROP or not by:
        return Cleared(tuple(map(_dropped, within)), ends_on)
    later = [placed for placed in sessions if placed.day >= first]
    longest = starts_on + MOST_WEEKS * A_WEEK
    fates = tuple(_moved(placed, placed.day + by, longest) for placed in later)
    days = [fate.to for fate in fates if fate.to]
    return Cleared(fates, max([ends_on, *days]))


def _weeks_needed(within: Iterable[Placed], last: dt.date) -> dt.timedelta:
    """The fewest whole weeks that take all drafts of a break to after its end."""
    earliest = min((placed.day for placed in within if not placed.is_published), default=None)
    if earliest is None:
        return dt.timedelta(0)
    return dt.timedelta(weeks=(last - earliest).days // 7 + 1)


def _dropped(placed: Placed) -> Fate:
    if placed.is_published:
        return Fate(placed, None, _PUBLISHED)
    return Fate(placed, None, _CHOICES if placed.has_choices else "")


def _moved(placed: Placed, to: dt.date, longest: dt.date) -> Fate:
    if placed.is_published:
        return Fate(placed, None, _PUBLISHED)
    if to > longest:
        return Fate(placed, None, _TOO_LATE)
    return Fate(placed, to)


_PUBLISHED: Final = "It is published, so it stays where the families have it."
_CHOICES: Final = "It holds a choice made for a single child, so it stays: take it out by hand."
_TOO_LATE: Final = f"A block lasts at most {MOST_WEEKS} weeks, so it stays where it is."
