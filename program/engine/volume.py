"""How much work a session, a week or a block holds, by movement pattern and by body region.

Volumes add: a week is the sum of its sessions, `sum(volumes, Volume())`. Kinds of work that do
not add to each other (repetitions, seconds, metres) stay apart; ratios compare sets, the one unit
that every dose shares. Which pattern stands on which side of a ratio is common practice.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from library.landing import ContactClass
from program.engine.dose.dose import Dose, Side, Sides
from program.engine.pace import JUNIOR_PACE, Pace
from program.engine.weeks import A_WEEK

PUSH: Final = frozenset({"push"})
PULL: Final = frozenset({"pull"})
KNEE_DOMINANT: Final = frozenset({"squat", "single_leg"})
HIP_DOMINANT: Final = frozenset({"hinge", "hamstring_slide"})
LEGS: Final = KNEE_DOMINANT | HIP_DOMINANT | {"jump", "land", "calf_ankle"}
"""Patterns weighed both legs against one. Skipping is left out: its many bouts are rhythm."""


@dataclass(frozen=True, slots=True)
class VolumeSlot:
    """One exercise of a session as far as its volume goes.

    `pattern` is a movement pattern's code, `dose` the work of one round, `rounds` at least 1,
    `loads` the codes of the body regions that take the load and `contact_class` how hard its ground
    contacts are, if it has any.
    """

    pattern: str
    dose: Dose
    rounds: int
    loads: frozenset[str] = frozenset()
    contact_class: ContactClass = ContactClass.LOW


@dataclass(frozen=True, slots=True)
class Work:
    """An amount of work. All counts are 0 or more and include both sides.

    A set is one round of one exercise, both sides of it. `one_sided_sets` are those done one side
    at a time or alternating, and the left and right repetitions are the ones done by that side
    alone. `time_under_tension` is the seconds spent in repetitions, `hold_seconds` those of holds
    and bouts, so no second is in both.
    """

    sets: int = 0
    one_sided_sets: int = 0
    repetitions: int = 0
    left_repetitions: int = 0
    right_repetitions: int = 0
    time_under_tension: float = 0.0
    hold_seconds: int = 0
    metres: int = 0
    ground_contacts: float = 0.0

    @classmethod
    def of(cls, dose: Dose, rounds: int, pace: Pace = JUNIOR_PACE) -> "Work":
        """The work of a dose done for some rounds."""
        return cls(
            sets=rounds,
            one_sided_sets=0 if dose.sides is Sides.BOTH else rounds,
            repetitions=rounds * dose.repetitions,
            left_repetitions=rounds * dose.repetitions_on(Side.LEFT),
            right_repetitions=rounds * dose.repetitions_on(Side.RIGHT),
            time_under_tension=rounds * dose.time_under_tension(pace),
            hold_seconds=rounds * dose.hold_seconds,
            metres=rounds * dose.metres,
            ground_contacts=rounds * dose.ground_contacts,
        )

    def __add__(self, other: "Work") -> "Work":
        return Work(
            sets=self.sets + other.sets,
            one_sided_sets=self.one_sided_sets + other.one_sided_sets,
            repetitions=self.repetitions + other.repetitions,
            left_repetitions=self.left_repetitions + other.left_repetitions,
            right_repetitions=self.right_repetitions + other.right_repetitions,
            time_under_tension=self.time_under_tension + other.time_under_tension,
            hold_seconds=self.hold_seconds + other.hold_seconds,
            metres=self.metres + other.metres,
            ground_contacts=self.ground_contacts + other.ground_contacts,
        )


NO_WORK: Final = Work()


@dataclass(frozen=True, slots=True)
class Ratio:
    """Sets of one kind against sets of another, as counted, such as 6 : 4."""

    first: int
    second: int

    def __str__(self) -> str:
        return f"{self.first} : {self.second}"


@dataclass(frozen=True, slots=True)
class Volume:
    """Work by movement pattern and, once more, by loaded body region; and its ground contacts by
    their class, which sum to the total's.

    A pattern or region without work has no key; `of_pattern` gives no work for it.
    An exercise counts fully in every region it loads, so regions do not sum to `total`.
    """

    patterns: Mapping[str, Work] = field(default_factory=dict)
    regions: Mapping[str, Work] = field(default_factory=dict)
    contacts_by_class: Mapping[ContactClass, float] = field(default_factory=dict)

    def __add__(self, other: "Volume") -> "Volume":
        return Volume(
            _added(self.patterns, other.patterns.items()),
            _added(self.regions, other.regions.items()),
            contacts_together((self.contacts_by_class, other.contacts_by_class)),
        )

    def of_pattern(self, pattern: str) -> Work:
        return self.patterns.get(pattern, NO_WORK)

    @property
    def patterns_by_sets(self) -> list[str]:
        """The patterns that are worked on, most sets first, by name where they are equal."""
        return sorted(self.patterns, key=lambda pattern: (-self.patterns[pattern].sets, pattern))

    @property
    def total(self) -> Work:
        return sum(self.patterns.values(), NO_WORK)

    @property
    def push_to_pull(self) -> Ratio:
        return Ratio(self._sets(PUSH), self._sets(PULL))

    @property
    def knee_to_hip(self) -> Ratio:
        """Sets of knee-dominant against hip-dominant patterns."""
        return Ratio(self._sets(KNEE_DOMINANT), self._sets(HIP_DOMINANT))

    @property
    def both_legs_to_one(self) -> Ratio:
        """Sets on both legs against sets on one. Single-leg work is that however it is counted."""
        one = self.of_pattern("single_leg").sets + sum(
            self.of_pattern(pattern).one_sided_sets for pattern in LEGS - {"single_leg"}
        )
        return Ratio(self._sets(LEGS) - one, one)

    def _sets(self, patterns: frozenset[str]) -> int:
        return sum(self.of_pattern(pattern).sets for pattern in patterns)


def volume(slots: Iterable[VolumeSlot], pace: Pace = JUNIOR_PACE) -> Volume:
    """The volume of the slots of one session, or of any number of them."""
    worked = [(slot, Work.of(slot.dose, slot.rounds, pace)) for slot in slots]
    return Volume(
        patterns=_added({}, ((slot.pattern, work) for slot, work in worked)),
        regions=_added({}, ((region, work) for slot, work in worked for region in slot.loads)),
        contacts_by_class=contacts_together(
            {slot.contact_class: work.ground_contacts}
            for slot, work in worked
            if work.ground_contacts
        ),
    )


def by_week(days: Iterable[tuple[dt.date, Volume]], starts: dt.date, weeks: int) -> list[Volume]:
    """What the days of each of so many weeks from `starts` add up to; other days count nowhere."""
    totals = [Volume()] * weeks
    for day, done in days:
        if 0 <= (week := (day - starts) // A_WEEK) < weeks:
            totals[week] += done
    return totals


def contacts_together(
    some: Iterable[Mapping[ContactClass, float]],
) -> dict[ContactClass, float]:
    """Ground contacts by class, added up."""
    together: dict[ContactClass, float] = {}
    for contacts in some:
        for contact_class, number in contacts.items():
            together[contact_class] = together.get(contact_class, 0.0) + number
    return together


def _added(so_far: Mapping[str, Work], more: Iterable[tuple[str, Work]]) -> dict[str, Work]:
    added = dict(so_far)
    for key, work in more:
        added[key] = added[key] + work if key in added else work
    return added
