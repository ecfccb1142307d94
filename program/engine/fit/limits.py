"""What is known of a child when a session is fitted, and the limits that nothing may break."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, NamedTuple

from library.body import Labelled, Region, RestrictionKind, Side
from library.landing import ContactClass
from library.usual_home import USUAL_HOME_KIT
from program.engine.contact_ceilings import class_ceiling
from program.engine.dose.dose import DELOAD_SHARE
from program.engine.fit.library import FitExercise, Need
from program.engine.fit.reasons import Reason, ReasonCode

GROWTH_SPURT_CONTACTS: Final = 0.5
"""The share of the ground-contact ceiling that is left in a growth spurt. Common practice, from
memory: halve the landings while growth is fastest. No published threshold stands behind it."""

LANDING_PATH: Final = frozenset(Region) - {Region.SHOULDER, Region.ELBOW, Region.WRIST_HAND}
"""The regions a landing on the feet passes through: from the feet up the legs and the spine to the
head. The arms are left out unless the exercise loads them, as a bunny hop does."""


class Restriction(NamedTuple):
    """A rule about a body region, in force on the day of the session. Without a region it is about
    the whole body, and nothing is done.

    A restriction of one side rules an exercise out whole, even one done a side at a time: the other
    side's half would leave the child to keep count of which leg to spare. `without` are exercises
    that are ruled out by name, because they hurt.
    """

    region: Region | None
    kind: RestrictionKind
    side: Side = Side.BOTH
    without: frozenset[str] = frozenset()

    def rules_out(self, exercise: FitExercise) -> bool:
        """Each kind rules out what the milder one does, and more.

        NO_LANDING: landings, by number or by pattern, whose shock passes through the region.
        NO_LOADING: also all that loads it. NOTHING: also all that only moves it.
        """
        if self.region is None or exercise.slug in self.without:
            return True
        loads, moves = self.region in exercise.loads, self.region in exercise.moves
        lands = exercise.lands and (self.region in LANDING_PATH or loads)
        match self.kind:
            case RestrictionKind.NO_LANDING:
                return lands
            case RestrictionKind.NO_LOADING:
                return lands or loads
            case RestrictionKind.NOTHING:
                return lands or loads or moves

    def concerns(self, exercise: FitExercise) -> bool:
        """Whether the exercise does anything at all with the region, allowed or not."""
        return self._replace(kind=RestrictionKind.NOTHING).rules_out(exercise)


class ReturnStep(Labelled):
    """A step of the way back after a pain, in order; and a lighter week after time away.

    Common practice, from memory: a place that hurt is worked again only after a day without pain,
    first with something easier, then with the exercise itself at half the dose, then as written.
    """

    PAIN_FREE = "pain_free", "a day without pain"
    EASIER = "easier", "easier exercises"
    HALF = "half", "half as much"
    LIGHTER = "lighter", "a lighter week"


HALF: Final = 0.5
RETURN_SHARES: Final[Mapping[ReturnStep, float]] = {
    ReturnStep.HALF: HALF,
    ReturnStep.LIGHTER: DELOAD_SHARE,
}
"""What a step leaves of an amount. Common practice; a lighter week is as light as a deload."""

_RETURN_LIMITS: Final[Mapping[ReturnStep, RestrictionKind]] = {
    ReturnStep.PAIN_FREE: RestrictionKind.NO_LOADING,
    ReturnStep.EASIER: RestrictionKind.NO_LANDING,
}


class ComingBack(NamedTuple):
    """Where a child is on the way back, on the day of the session: with a place, or with the whole
    body after time away."""

    region: Region | None
    step: ReturnStep
    side: Side = Side.BOTH

    @property
    def limit(self) -> Restriction | None:
        """What is not done at all on this step; None on those that only lessen."""
        kind = _RETURN_LIMITS.get(self.step)
        return Restriction(self.region, kind, self.side) if kind else None

    def works(self, exercise: FitExercise) -> bool:
        """Whether the exercise loads the place, or lands on it."""
        whole = self.region is None
        return whole or Restriction(self.region, RestrictionKind.NO_LOADING).rules_out(exercise)


@dataclass(frozen=True, slots=True, kw_only=True)
class FitChild:
    """A child's circumstances on the day of one session.

    `key` is whatever the caller knows the child by. `age` is in completed years. `contact_ceiling`
    is the most ground contacts that a child of that age may have on one day; a growth spurt lowers
    it in `ceiling_now` and nowhere else. `elsewhere` is what the child's other sessions of that day
    hold of it, by cohort, as the caller knows that, and by how hard. `placements` gives the
    exercise worked on by pathway; those on the pathways in `not_seen` nobody has seen the child do,
    and they ask nothing harder of it than is written. `kit` is the items at home, or at the venue
    for a session there; None is a family that has not said yet. `overrides` holds the coach's word
    by slot key: an exercise, or None to leave the slot out; `where_nothing_fits` the same, for
    where nothing else can be given. `left_out_lacking` are sets of items: an exercise that needs
    one of these, where nothing else can be given, is left out. `more` is how much more than written
    the coach lets this child do, by exercise, in its measure. `is_held_back`: something was
    reported that no exercise can be chosen around, and nobody has answered it.
    `training_is_refused`: somebody who answers for the child has said no to it. `coming_back` are
    its ways back.
    """

    key: str
    age: int
    contact_ceiling: int
    elsewhere: Mapping[str, Mapping[ContactClass, float]] = field(default_factory=dict)
    placements: Mapping[str, str] = field(default_factory=dict)
    not_seen: frozenset[str] = frozenset()
    kit: frozenset[str] | None = None
    restrictions: tuple[Restriction, ...] = ()
    in_growth_spurt: bool = False
    overrides: Mapping[str, str | None] = field(default_factory=dict)
    where_nothing_fits: Mapping[str, str | None] = field(default_factory=dict)
    left_out_lacking: tuple[frozenset[str], ...] = ()
    more: Mapping[str, int] = field(default_factory=dict)
    is_held_back: bool = False
    training_is_refused: bool = False
    coming_back: tuple[ComingBack, ...] = ()

    @property
    def contacts_elsewhere(self) -> float:
        return round(sum(sum(landed.values()) for landed in self.elsewhere.values()), 6)

    def landed_elsewhere(self, contact_class: ContactClass) -> float:
        return sum(landed.get(contact_class, 0) for landed in self.elsewhere.values())


def ceiling_now(ceiling: int, *, in_growth_spurt: bool) -> int:
    """What a ground-contact ceiling comes to for a child who may be growing fast."""
    return int(ceiling * GROWTH_SPURT_CONTACTS) if in_growth_spurt else ceiling


class HardLimits:
    """What no rule and no override may break, for one child; each exercise is looked at once."""

    def __init__(self, child: FitChild) -> None:
        self.contact_ceiling = ceiling_now(
            child.contact_ceiling, in_growth_spurt=child.in_growth_spurt
        )
        self.contacts_left = max(0.0, round(self.contact_ceiling - child.contacts_elsewhere, 6))
        self._child = child
        self._not_yet = tuple(each.limit for each in child.coming_back if each.limit)
        self._kit = USUAL_HOME_KIT if child.kit is None else child.kit
        self._broken: dict[str, tuple[Reason, ...]] = {}

    def left_of(self, contact_class: ContactClass) -> float:
        """How many contacts of a class the child's other sessions of the day leave it."""
        ceiling = class_ceiling(self.contact_ceiling, contact_class)
        return max(0.0, round(ceiling - self._child.landed_elsewhere(contact_class), 6))

    @cached_property
    def held_back(self) -> tuple[Reason, ...]:
        """Why this child does nothing at all for now; () where it may do something."""
        if self._child.is_held_back:
            return (Reason(ReasonCode.HELD_BACK),)
        if any(each.region is None for each in self._child.restrictions):
            return (Reason(ReasonCode.RESTING),)
        if self._child.training_is_refused:
            return (Reason(ReasonCode.TRAINING_REFUSED),)
        return ()

    def spares_place_of(self, exercise: FitExercise) -> bool:
        """Whether it does anything with a place that is spared, or works one that is coming back:
        then nothing there gets harder."""
        return any(each.concerns(exercise) for each in self._child.restrictions) or any(
            each.works(exercise) for each in self._child.coming_back
        )

    @property
    def is_lighter_week(self) -> bool:
        return any(each.step is ReturnStep.LIGHTER for each in self._child.coming_back)

    @property
    def has_easier_steps(self) -> bool:
        return any(each.step is ReturnStep.EASIER for each in self._child.coming_back)

    def easier_for(self, exercise: FitExercise) -> ComingBack | None:
        """The way back for which something easier is done in its place; None for none."""
        return next(
            (
                each
                for each in self._child.coming_back
                if each.step is ReturnStep.EASIER and each.works(exercise)
            ),
            None,
        )

    def less_for(self, exercise: FitExercise) -> ComingBack | None:
        """The way back that leaves the least of it; None where all of it is done."""
        lessened = (
            each
            for each in self._child.coming_back
            if each.step in RETURN_SHARES and each.works(exercise)
        )
        return min(lessened, key=lambda each: RETURN_SHARES[each.step], default=None)

    def broken_by(self, exercise: FitExercise) -> tuple[Reason, ...]:
        """The limits that an exercise breaks by itself, however much of it is done; () for none."""
        if exercise.slug not in self._broken:
            self._broken[exercise.slug] = (
                *self._retired(exercise),
                *self._recalled(exercise),
                *self._restricted(exercise),
                *self._too_young(exercise),
                *self._unequipped(exercise),
            )
        return self._broken[exercise.slug]

    def lacking(self, exercise: FitExercise) -> tuple[Need, ...]:
        """What it needs that is not here."""
        return tuple(need for need in exercise.needs if not need.is_met_by(self._kit))

    def _retired(self, exercise: FitExercise) -> tuple[Reason, ...]:
        if exercise.is_available:
            return ()
        return (Reason(ReasonCode.RETIRED, exercise=exercise.name),)

    def _recalled(self, exercise: FitExercise) -> tuple[Reason, ...]:
        if not exercise.recalled:
            return ()
        why = exercise.recalled
        return (Reason(ReasonCode.RECALLED, exercise=exercise.name, detail=why),)

    def _restricted(self, exercise: FitExercise) -> tuple[Reason, ...]:
        return tuple(
            Reason(
                ReasonCode.RESTRICTED,
                exercise=exercise.name,
                region=restriction.region,
                side=restriction.side,
                kind=restriction.kind,
            )
            for restriction in dict.fromkeys((*self._child.restrictions, *self._not_yet))
            if restriction.rules_out(exercise)
        )

    def _too_young(self, exercise: FitExercise) -> tuple[Reason, ...]:
        if self._child.age >= exercise.minimum_age:
            return ()
        minimum = exercise.minimum_age
        return (Reason(ReasonCode.TOO_YOUNG, exercise=exercise.name, number=minimum),)

    def _unequipped(self, exercise: FitExercise) -> tuple[Reason, ...]:
        return tuple(
            Reason(ReasonCode.NEED_UNMET, exercise=exercise.name, need=need.what)
            for need in self.lacking(exercise)
        )
