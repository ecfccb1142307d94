"""The session as timed steps, and with that the only clock there is.

The builder's minutes, the printed sheet's minutes and the follow-along's count are all read off
these steps; a session lasts until the end of its last one. Times are whole seconds: that is what
a clock shows, and whole numbers add up the same in Python, JavaScript and a database.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from program.engine.dose.dose import Dose, Side
from program.engine.pace import JUNIOR_PACE, Pace


class PartKind(StrEnum):
    """The order in which a part's rounds are done.

    STRAIGHT finishes all rounds of one slot before the next (A A B B). All others go through all
    slots in every round (A B A B); a circuit is a superset of many slots. WARM_UP prepares the work
    and COOL_DOWN ends it.
    """

    WARM_UP = "warm_up"
    STRAIGHT = "straight"
    SUPERSET = "superset"
    CIRCUIT = "circuit"
    COOL_DOWN = "cool_down"


@dataclass(frozen=True, slots=True)
class TimedSlot:
    """One exercise of a part and the dose of one round.

    `rest_seconds` is the breather before the part's next exercise, not less than 0; None leaves
    it to the pace. `setup_seconds`, not less than 0, is what setting it up takes; `is_watched` says
    that a grown-up has to be there.
    """

    key: str
    name: str
    dose: Dose
    rest_seconds: int | None = None
    setup_seconds: int = 0
    is_watched: bool = False

    def __post_init__(self) -> None:
        if self.rest_seconds is not None and self.rest_seconds < 0:
            raise ValueError(f"A breather cannot last {self.rest_seconds} seconds.")
        if self.setup_seconds < 0:
            raise ValueError(f"To set up cannot take {self.setup_seconds} seconds.")

    def set_up(self, pace: Pace, *, is_again: bool) -> int:
        """Seconds before it begins after something else, `is_again` in the same part.

        What was set up still stands in the next round. The grown-up may have gone: so a watched
        exercise asks for one whenever another exercise came between, and not after a mere rest.
        One tap more in each round is little against a child alone on a bar.
        """
        setting_up = 0 if is_again else self.setup_seconds
        return max(setting_up, pace.fetch_a_grown_up) if self.is_watched else setting_up


@dataclass(frozen=True, slots=True)
class TimedPart:
    """Slots that are done together for a number of rounds, at least 1.

    `rest_seconds` is the rest between two rounds, 0 for none. A part without slots takes no time.
    """

    key: str
    name: str
    kind: PartKind
    rounds: int
    rest_seconds: int
    slots: tuple[TimedSlot, ...]

    def __post_init__(self) -> None:
        if self.rounds < 1:
            raise ValueError(f"A part has at least 1 round, not {self.rounds}.")
        if self.rest_seconds < 0:
            raise ValueError(f"A rest cannot last {self.rest_seconds} seconds.")


class StepKind(StrEnum):
    """What the child is doing."""

    SET_UP = "set_up"
    GET_READY = "get_ready"
    WORK = "work"
    CHANGE_SIDE = "change_side"
    BREATHER = "breather"
    REST = "rest"
    MOVE_ON = "move_on"
    DRINK = "drink"


@dataclass(frozen=True, slots=True)
class Step:
    """One stretch of the session, from `start` up to `end`, in seconds; never empty.

    `slot_key` is the exercise being done (work, change side) or about to be done (set up, get
    ready, move on), and None while resting. `round` counts from 1 to `rounds`; a rest belongs to
    the round it follows and a drink to the part it follows. `side` is the one working or changed
    to.
    """

    kind: StepKind
    start: int
    end: int
    part_key: str
    slot_key: str | None
    round: int
    rounds: int
    side: Side | None

    @property
    def seconds(self) -> int:
        return self.end - self.start


def timeline(parts: Iterable[TimedPart], pace: Pace = JUNIOR_PACE) -> tuple[Step, ...]:
    """The steps of a session in order: from 0, without a gap, each at least a second long.

    Keys of parts, and of slots within a part, are expected to differ.
    """
    steps: list[Step] = []
    clock = 0
    for kind, seconds, (part, slot, round_), side in _moments(parts, pace):
        if seconds > 0:
            steps.append(
                Step(
                    kind=kind,
                    start=clock,
                    end=clock + seconds,
                    part_key=part.key,
                    slot_key=None if kind in _RESTING else slot.key,
                    round=round_,
                    rounds=part.rounds,
                    side=side,
                )
            )
            clock += seconds
    return tuple(steps)


def duration(steps: Sequence[Step]) -> int:
    """How long the session lasts, in seconds; 0 for an empty one."""
    return steps[-1].end if steps else 0


def part_alone(part: TimedPart, pace: Pace = JUNIOR_PACE) -> int:
    """How long a part lasts by itself, in seconds: its timeline's `duration`, without the steps."""
    return sum(seconds for _, seconds, *_ in _moments((part,), pace))


def parts_together(alone: Iterable[int], pace: Pace = JUNIOR_PACE) -> int:
    """How long parts last one after the other, from what each lasts by itself: `duration` of their
    timeline, for whoever asks for many sessions of much the same parts."""
    seconds = [each for each in alone if each]
    return sum(seconds) + max(0, len(seconds) - 1) * pace.drink


def part_durations(steps: Iterable[Step]) -> dict[str, int]:
    """Seconds by part key, in order; a drink counts with the part it follows."""
    seconds: dict[str, int] = {}
    for step in steps:
        seconds[step.part_key] = seconds.get(step.part_key, 0) + step.seconds
    return seconds


class Spending(StrEnum):
    """What the time of a session goes into, in the order in which it is told."""

    WORK = "work"
    SIDES = "changing sides"
    CHANGES = "setting up and moving on"
    RESTS = "rests"
    BETWEEN = "between parts"


_SPENT_ON = {
    StepKind.WORK: Spending.WORK,
    StepKind.CHANGE_SIDE: Spending.SIDES,
    StepKind.SET_UP: Spending.CHANGES,
    StepKind.GET_READY: Spending.CHANGES,
    StepKind.MOVE_ON: Spending.CHANGES,
    StepKind.BREATHER: Spending.RESTS,
    StepKind.REST: Spending.RESTS,
    StepKind.DRINK: Spending.BETWEEN,
}


def spent(steps: Iterable[Step]) -> dict[Spending, int]:
    """Seconds by what they go into; together they are the session's `duration`."""
    seconds = dict.fromkeys(Spending, 0)
    for step in steps:
        seconds[_SPENT_ON[step.kind]] += step.seconds
    return seconds


_RESTING = frozenset({StepKind.BREATHER, StepKind.REST, StepKind.DRINK})


class _Visit(NamedTuple):
    """One round of one slot."""

    part: TimedPart
    slot: TimedSlot
    round: int


class _Moment(NamedTuple):
    """A step before the clock has reached it; it may still turn out empty."""

    kind: StepKind
    seconds: int
    visit: _Visit
    side: Side | None = None


def _moments(parts: Iterable[TimedPart], pace: Pace) -> Iterator[_Moment]:
    before: _Visit | None = None
    for part in parts:
        for visit in _visits(part):
            yield from _between(before, visit, pace)
            yield from _work(visit, pace)
            before = visit


def _visits(part: TimedPart) -> Iterator[_Visit]:
    rounds = range(1, part.rounds + 1)
    if part.kind is PartKind.STRAIGHT:
        return (_Visit(part, slot, round_) for slot in part.slots for round_ in rounds)
    return (_Visit(part, slot, round_) for round_ in rounds for slot in part.slots)


def _work(visit: _Visit, pace: Pace) -> Iterator[_Moment]:
    dose = visit.slot.dose
    for nth, side in enumerate(dose.sides.bouts):
        if nth > 0:
            yield _Moment(StepKind.CHANGE_SIDE, pace.change_side, visit, side)
        yield _Moment(StepKind.WORK, dose.seconds_per_bout(pace), visit, side)


def _between(before: _Visit | None, after: _Visit, pace: Pace) -> Iterator[_Moment]:
    is_new_part = before is None or before.part is not after.part
    if before is not None:
        yield (
            _Moment(StepKind.DRINK, pace.drink, before)
            if is_new_part
            else _pause(before, after, pace)
        )
    if before is None or is_new_part or before.slot is not after.slot:
        yield from _taking_the_place(after, pace, is_new_part=is_new_part)


def _taking_the_place(after: _Visit, pace: Pace, *, is_new_part: bool) -> Iterator[_Moment]:
    """Whoever has set something up, or fetched somebody, does not stand in place yet."""
    set_up = after.slot.set_up(pace, is_again=after.round > 1)
    yield _Moment(StepKind.SET_UP, set_up, after)
    if is_new_part or set_up:
        yield _Moment(StepKind.GET_READY, pace.get_ready, after)
    else:
        yield _Moment(StepKind.MOVE_ON, pace.move_on, after)


def _pause(before: _Visit, after: _Visit, pace: Pace) -> _Moment:
    if after.round > before.round:
        return _Moment(StepKind.REST, before.part.rest_seconds, before)
    breather = before.slot.rest_seconds
    return _Moment(StepKind.BREATHER, pace.breather if breather is None else breather, before)
