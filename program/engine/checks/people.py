"""The children whom a plan is for, with what they do beside it: a child is one body."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple


class Elsewhere(NamedTuple):
    """One session that a child has in another group, known to the caller by a key; `minutes` by
    its timeline."""

    on: dt.date
    group: int
    contacts: float
    is_strength: bool = False
    minutes: float = 0


@dataclass(frozen=True, slots=True)
class CheckedChild:
    """A child by its key, with its ground-contact ceiling for a day, lowered in a growth spurt, and
    its sessions in other groups. For a week also its `age` in whole years, and its sport outside
    the program in these seven days: on which, and hours, None where nobody knows."""

    key: int
    ceiling: int
    elsewhere: tuple[Elsewhere, ...] = ()
    age: int = 0
    sport_days: frozenset[dt.date] = frozenset()
    sport_hours: float | None = None

    def within(self, first: dt.date, last: dt.date) -> tuple[Elsewhere, ...]:
        return tuple(each for each in self.elsewhere if first <= each.on <= last)


def contacts_of(sessions: Iterable[Elsewhere]) -> int:
    return round(sum(each.contacts for each in sessions))


class Meant(NamedTuple):
    """The children a result means, and the other groups that it comes from, by key."""

    who: tuple[int, ...]
    groups: tuple[int, ...]

    @classmethod
    def of(cls, found: Iterable[tuple[CheckedChild, Iterable[Elsewhere]]]) -> "Meant":
        """From each child with those of its other sessions that count here."""
        found = [(child, list(sessions)) for child, sessions in found]
        groups = {each.group for _, sessions in found for each in sessions}
        return cls(tuple(child.key for child, _ in found), tuple(sorted(groups)))
