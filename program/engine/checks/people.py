"""The children whom a plan is for, with what they do beside it: a child is one body."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

from library.landing import ContactClass
from program.engine.volume import Volume
from program.engine.weeks import A_WEEK


class Elsewhere(NamedTuple):
    """One session that a child has in another group, sent to it or written for its group, known to
    the caller by a key; `minutes` as wanted."""

    on: dt.date
    group: int
    contacts: float
    is_strength: bool = False
    minutes: float = 0
    contacts_by_class: Mapping[ContactClass, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class DayOfWork:
    """What one session of a day holds, and the minutes planned for it."""

    on: dt.date
    volume: Volume
    minutes: int = 0


class WorkByDay:
    """Days of work in any order, whose weeks are added up once. Children with the same days share
    one."""

    def __init__(self, days: Iterable[DayOfWork]) -> None:
        self.days = tuple(days)
        self._of_weeks: dict[dt.date, Volume] = {}

    def in_week(self, starts: dt.date) -> list[DayOfWork]:
        """Those of the seven days from `starts` on which there is something to do."""
        return [
            day for day in self.days if starts <= day.on < starts + A_WEEK and day.volume.patterns
        ]

    def volume(self, starts: dt.date) -> Volume:
        """What the seven days from `starts` add up to."""
        if starts not in self._of_weeks:
            days = (day.volume for day in self.in_week(starts))
            self._of_weeks[starts] = sum(days, Volume())
        return self._of_weeks[starts]

    @property
    def landings(self) -> "Landings":
        found: dict[dt.date, float] = defaultdict(float)
        for day in self.days:
            found[day.on] += day.volume.total.ground_contacts
        return found


type Landings = Mapping[dt.date, float]
"""Ground contacts by day; a day without any may be missing."""


class Asked(NamedTuple):
    """What one session asks of one child as it was fitted: ground contacts, in all and by class,
    the seconds of its timeline, the exercises that a grown-up has to watch; and whether something
    that was chosen in the place of what is written lands more often, or takes at least twice the
    time."""

    contacts: int
    seconds: int
    watched: tuple[str, ...] = ()
    lands_more: bool = False
    takes_twice: bool = False
    contacts_by_class: Mapping[ContactClass, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class CheckedChild:
    """A child by its key, with its ground-contact ceiling for a day, lowered in a growth spurt, and
    its sessions in other groups.

    `age` is in completed years, None where it does not matter. `work` and `landings` are what the
    child itself has done or will do, in whatever group; None where that is as the cohort's. What
    was sent lands as it was fitted. `asked` is what the session that is being checked asks of it as
    fitted, None where that is as written or nobody has fitted it. For a week also its sport outside
    the program in these seven days: on which, and hours, None where nobody knows.
    """

    key: int
    ceiling: int
    elsewhere: tuple[Elsewhere, ...] = ()
    age: int | None = None
    work: WorkByDay | None = None
    landings: Landings | None = None
    asked: Asked | None = None
    sport_days: frozenset[dt.date] = frozenset()
    sport_hours: float | None = None

    def within(self, first: dt.date, last: dt.date) -> tuple[Elsewhere, ...]:
        return tuple(each for each in self.elsewhere if first <= each.on <= last)


def contacts_of(sessions: Iterable[Elsewhere], of: ContactClass | None = None) -> int:
    """Their ground contacts, all or those of one class."""
    if of is None:
        return round(sum(each.contacts for each in sessions))
    return round(sum(each.contacts_by_class.get(of, 0) for each in sessions))


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
