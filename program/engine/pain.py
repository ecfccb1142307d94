"""What a report that something hurts leads to before anybody has answered it.

Nothing here diagnoses. What no exercise can be chosen around holds every session back; anything
else spares its place. The signs are those that published guidance tells laypeople to act on; each
names its source, and which of them were read and which are from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from library.body import LEG, Labelled, Region, Side
from library.body import RestrictionKind as Kind
from program.engine.fit.limits import Restriction


class Symptom(Labelled):
    """What can be wrong that is no place an exercise could spare.

    Chest pain, faintness and losing one's breath on effort want a doctor before more sport: Conley
    et al. 2014, J Athl Train 49:102-120 (position statement; its abstract was read, the list is
    from memory). A knock to the head ends the day: Patricios et al. 2023, Br J Sports Med
    57:695-711, from memory. A wheeze, a headache and feeling sick: common advice, from memory.
    Ribs, belly and feeling unwell: common practice.
    """

    CHEST = "chest", "chest hurts"
    RIBS = "ribs", "ribs hurt"
    BELLY = "belly", "belly hurts"
    DIZZY = "dizzy", "dizzy"
    FAINT = "faint", "fainted, or nearly"
    BREATH = "breath", "cannot get breath"
    WHEEZE = "wheeze", "wheezing"
    HEADACHE = "headache", "headache"
    SICK = "sick", "feels sick"
    HEAD_KNOCK = "head_knock", "knock to the head"
    UNWELL = "unwell", "not well"


class Sign(Labelled):
    """What, beside a pain, says that somebody qualified should look.

    A limp with a sore hip, groin, thigh or knee at about 8 to 15 years can be a slipped growth
    plate and is for the same day: Peck, Voss and Voss 2017, Am Fam Physician 95:779-784 (abstract
    read; the project asks from 9 to 16). A joint that locks, a pop and not being able to stand on
    it after an injury, and pain at night or with fever: common advice, from memory.
    """

    LIMP = "limp", "a limp"
    LOCKS = "locks", "it locks or gets stuck"
    CANNOT_STAND = "cannot_stand", "cannot stand on it"
    POP = "pop", "there was a pop"
    NIGHT = "night", "it hurts at night"
    FEVER = "fever", "a fever with it"


_SPARES_THE_LEG: Final = frozenset({Sign.LIMP, Sign.LOCKS, Sign.CANNOT_STAND})
AGES_OF_THE_LIMP: Final = range(9, 17)
"""Completed years at which a limp with a sore hip, groin, thigh or knee is for the same day."""

STOP_NOW: Final = "Stop now and sit down with a grown-up. Ring a doctor before anything else."
ENOUGH: Final = "That is enough for today. If it does not pass soon, ring a doctor."
DOCTOR_TODAY: Final = "Have a doctor look at it today. Until then, rest it."
WHEEZING: Final = (
    "Stop now and sit up straight with a grown-up. If there is an inhaler, use it as the doctor "
    "has said. If it does not ease in a few minutes, or talking is hard, ring for an ambulance."
)
HEAD_ACHES: Final = (
    "That is enough for today. If it came suddenly, is very bad or does not pass with rest, ring a "
    "doctor."
)
TELLING_IS_RIGHT: Final = "When something hurt, we were told, and that is just right."
"""What stands to a family where praise for going on would: no place, and never "well done"."""
FIRST_TO_DO: Final = {
    Symptom.CHEST: STOP_NOW,
    Symptom.FAINT: STOP_NOW,
    Symptom.BREATH: STOP_NOW,
    Symptom.HEAD_KNOCK: STOP_NOW,
    Symptom.WHEEZE: WHEEZING,
    Symptom.HEADACHE: HEAD_ACHES,
    Symptom.SICK: ENOUGH,
    Symptom.DIZZY: ENOUGH,
    Symptom.RIBS: ENOUGH,
    Symptom.BELLY: ENOUGH,
    Symptom.UNWELL: ENOUGH,
}
"""What a family does first, by symptom. It names nobody: whom to ring, a program sets."""
STOP_FOR: Final = (
    Symptom.DIZZY,
    Symptom.WHEEZE,
    Symptom.BREATH,
    Symptom.HEADACHE,
    Symptom.SICK,
)
"""What a child is told, beside pain, before it begins: with any of these it stops and says so
(`templates/program/family/stop_rules.html`)."""


class Call(NamedTuple):
    """What a sign asks a family to do first. Without `regions` wherever it is."""

    sign: Sign
    first_to_do: str
    regions: frozenset[Region] = frozenset(Region)


_LIMPING: Final = Call(
    Sign.LIMP,
    "A limp with this is for a doctor today, even if it hurts only a little.",
    frozenset({Region.HIP_GROIN, Region.THIGH, Region.KNEE}),
)
_CALLS: Final = (
    Call(Sign.FEVER, DOCTOR_TODAY),
    Call(Sign.CANNOT_STAND, DOCTOR_TODAY),
    Call(Sign.LOCKS, DOCTOR_TODAY),
    Call(Sign.POP, DOCTOR_TODAY),
    Call(Sign.LIMP, DOCTOR_TODAY),
    Call(
        Sign.NIGHT, "Pain that wakes a child is for a doctor in the next days. Until then, rest it."
    ),
)
SPARES_FROM: Final = 1
"""How much pain, of 10, spares its place where a program has not said otherwise: any."""
HIGHEST_SPARES_FROM: Final = 4
"""And the most that a program may set it to. A house rule."""
URGENT_FROM: Final = 7
"""How much, of 10, is told at once. Common practice: the upper third of a scale to 10."""
REASON_FROM: Final = 4
"""How much, of 10, is not waved through without a reason. A house rule."""
REPEATED: Final = 3
"""The report of one place from which on it is told at once. A house rule."""


@dataclass(frozen=True)
class Pain:
    """One report, as far as the rules go: a place with a side and a level of 1 to 10, or a symptom.

    `exercise` is the slug of what was being done, "" where nobody said.
    """

    region: Region | None
    side: Side = Side.BOTH
    level: int = 0
    symptom: Symptom | None = None
    signs: frozenset[Sign] = frozenset()
    exercise: str = ""

    @classmethod
    def stored(cls, row: Mapping[str, Any]) -> "Pain":
        """As a report keeps it, by the names of its columns, with the slug as `exercise`."""
        return cls(
            Region(row["region"]) if row["region"] else None,
            Side(row["side"]),
            row["level"] or 0,
            Symptom(row["symptom"]) if row["symptom"] else None,
            frozenset(Sign(each) for each in row["signs"]),
            row["exercise"] or "",
        )

    @property
    def is_warning(self) -> bool:
        """Whether every session waits until a coach has answered."""
        return self.symptom is not None or bool(self.signs)

    @property
    def spares(self) -> tuple[Restriction, ...]:
        """What is spared until then, this exercise itself among it."""
        if self.region is None:
            return ()
        without = frozenset({self.exercise} if self.exercise else ())
        if self.region in LEG and self.signs & _SPARES_THE_LEG:
            return tuple(Restriction(each, Kind.NOTHING, self.side, without) for each in LEG)
        return (Restriction(self.region, Kind.NO_LOADING, self.side, without),)

    def is_urgent(self, nth: int) -> bool:
        """Whether coaches are told at once; `nth` counts the reports of this place from 1."""
        return self.is_warning or self.level >= URGENT_FROM or nth >= REPEATED

    def wants_reason(self, nth: int) -> bool:
        """Whether "no change" has to say why."""
        return self.is_warning or self.level >= REASON_FROM or nth >= REPEATED


def calls_at(age: int) -> tuple[Call, ...]:
    """What each sign asks for at an age in completed years, the most pressing first."""
    return (_LIMPING, *_CALLS) if age in AGES_OF_THE_LIMP else _CALLS


def first_to_do(pain: Pain, age: int) -> str:
    """What a family does first, in a sentence; "" where the usual caution says enough."""
    if pain.symptom:
        return FIRST_TO_DO[pain.symptom]
    return next(
        (
            call.first_to_do
            for call in calls_at(age)
            if call.sign in pain.signs and pain.region in call.regions
        ),
        "",
    )
