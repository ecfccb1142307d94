"""A session brought to a number of minutes: which doses, rounds and rests to change, and by how
much, so that it stays as near as possible to what is written.

The rules, and their reasons:

- *Nearest is the least sum of squared shares.* A dose of 8 made 6 counts (2/8)², and so do the
  minutes by which the session misses those that were wanted. So what is taken is spread over the
  session, instead of one exercise paying for all. It is looked for step by step. A whole round is
  worth many steps, and the last one taken may be too much: so it is looked for without that one,
  and without any, too, and the nearest is proposed.
- *No dose goes below the least that its exercise makes sense with, nor above the most*, no part
  below one round, no rest below `LEAST_REST` or `LEAST_BREATHER`. What is written beyond these
  already is not moved further.
- *Sides that swap keep an even number.*
- *Warm-up and cool-down are left alone unless nothing else is left to take*; a session that is
  stretched leaves them alone altogether.

The least rests and the steps of rests and holds are common practice, from memory: shorter ones are
no rest.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from program.engine.dose.dose import LIMITS, MOST_ROUNDS, Dose, DoseRange, Measure, Sides
from program.engine.outline import is_work
from program.engine.pace import JUNIOR_PACE, Pace
from program.engine.timeline import TimedPart, TimedSlot, duration, timeline

LEAST_REST: Final = 15
"""Seconds between two rounds that are still a rest."""
LEAST_BREATHER: Final = 5
"""Seconds after one exercise that are still a breather."""
MOST_REST: Final = 120
"""Seconds to which stretching makes a rest grow."""
STEP_OF_REST: Final = 5
STEP_OF_SECONDS: Final = 5
A_MINUTE: Final = 60

type Ranges = Mapping[str, DoseRange]
"""The amounts that each slot's exercise is used with, by the slot's key."""
type Direction = int
"""-1 to shorten, 1 to stretch."""


class Lever(StrEnum):
    """What may be changed: a part's rounds or the rest between them, a slot's dose or the breather
    after it where one is written."""

    ROUNDS = "rounds"
    REST = "rest"
    DOSE = "dose"
    BREATHER = "breather"


@dataclass(frozen=True, slots=True)
class Change:
    """One value that becomes another; `key` is the part's or the slot's, `name` what it is called,
    `seconds` by how much the session gets longer, below 0 for shorter."""

    lever: Lever
    key: str
    name: str
    before: int
    after: int
    seconds: int


@dataclass(frozen=True, slots=True)
class Proposal:
    """What to change for a session of `seconds_before` to last `seconds_after`; `reaches` says
    whether that is what was wanted, or as near as the rules let it come."""

    changes: tuple[Change, ...]
    seconds_before: int
    seconds_after: int
    reaches: bool


@dataclass(frozen=True, slots=True)
class _Place:
    """A lever of one part or of one of its slots."""

    lever: Lever
    part: int
    slot: int = -1


def brought_to(
    parts: Sequence[TimedPart], ranges: Ranges, seconds: int, pace: Pace = JUNIOR_PACE
) -> Proposal:
    """What to change so that the session lasts `seconds` at most and as nearly as may be.

    A slot of which no range is known keeps its dose.
    """
    written = tuple(parts)
    found = _found(written, ranges, seconds, pace)
    became = min(found, key=_Distance(written, seconds, pace))
    before, after = _seconds(written, pace), _seconds(became, pace)
    reaches = after <= seconds and (before > seconds or seconds - after < A_MINUTE)
    return Proposal(tuple(_changes(written, became, pace)), before, after, reaches)


def _found(
    written: tuple[TimedPart, ...], ranges: Ranges, seconds: int, pace: Pace
) -> Iterator[tuple[TimedPart, ...]]:
    """With as many rounds as are worth it, with one less taken, and with none."""
    first = _Search(written, ranges, pace, seconds)
    yield first.found()
    if first.rounds_taken > 0:
        yield _Search(written, ranges, pace, seconds, first.rounds_taken - 1).found()
        yield _Search(written, ranges, pace, seconds, 0).found()


@dataclass(frozen=True, slots=True)
class _Distance:
    """How far parts are from what is written and from the seconds wanted; each second too long is
    further than anything else."""

    written: tuple[TimedPart, ...]
    target: int
    pace: Pace

    def __call__(self, parts: tuple[TimedPart, ...]) -> tuple[int, float]:
        seconds = _seconds(parts, self.pace)
        missed = (self.target - seconds) / max(1, _seconds(self.written, self.pace))
        shares = (
            (_value(new, place) - _value(old, place)) / max(1, _value(old, place))
            for nth, (old, new) in enumerate(zip(self.written, parts, strict=True))
            for place in _places_of(nth, old)
        )
        return max(0, seconds - self.target), missed**2 + sum(share**2 for share in shares)


def _seconds(parts: Sequence[TimedPart], pace: Pace) -> int:
    return duration(timeline(parts, pace))


@dataclass
class _Search:
    """One step after the other, each the one that costs least for the time it brings; of rounds
    it takes `most_rounds` at most, all where that is None."""

    written: tuple[TimedPart, ...]
    ranges: Ranges
    pace: Pace
    target: int
    most_rounds: int | None = None

    def __post_init__(self) -> None:
        self.rounds_taken = 0
        self.now = list(self.written)
        self.lasts = [duration(timeline([part], self.pace)) for part in self.written]

    @property
    def total(self) -> int:
        """As the timeline has it: parts do not reach into each other but for the drink between."""
        begun = [seconds for seconds in self.lasts if seconds]
        return sum(begun) + self.pace.drink * max(0, len(begun) - 1)

    def found(self) -> tuple[TimedPart, ...]:
        work = [place for place in self._places() if is_work(self.written[place.part])]
        if self.total <= self.target:
            self._stretch(work)
            return tuple(self.now)
        self._shorten(work)
        if self.total > self.target:
            self._shorten([place for place in self._places() if place not in work])
            self._give_back(work)
        return tuple(self.now)

    def _places(self) -> list[_Place]:
        return [place for nth, part in enumerate(self.written) for place in _places_of(nth, part)]

    def _shorten(self, places: Sequence[_Place]) -> None:
        while self.total > self.target and (step := self._best(places, -1)):
            self._take(*step)
        self._give_back(places)

    def _give_back(self, places: Sequence[_Place]) -> None:
        """What was taken last may have been more than was needed."""
        while step := self._best(places, 1, up_to_written=True):
            self._take(*step)

    def _stretch(self, places: Sequence[_Place]) -> None:
        while step := self._best(places, 1):
            self._take(*step)

    def _take(self, place: _Place, part: TimedPart, seconds: int) -> None:
        self.rounds_taken += self.now[place.part].rounds - part.rounds
        self.now[place.part] = part
        self.lasts[place.part] = seconds

    def _best(
        self, places: Sequence[_Place], way: Direction, *, up_to_written: bool = False
    ) -> tuple[_Place, TimedPart, int] | None:
        """The step that costs least for each second; none that makes the session too long."""
        room = self.target - self.total
        best, least = None, 0.0
        for place in places:
            if up_to_written and self._value(place) >= self._written(place):
                continue
            part = self._stepped(place, way)
            if part is None:
                continue
            if up_to_written and _value(part, place) > self._written(place):
                part = _with_value(self.now[place.part], place, self.written[place.part])
            seconds = duration(timeline([part], self.pace))
            brought = seconds - self.lasts[place.part]
            if brought * way <= 0 or (way > 0 and brought > room):
                continue
            cost = self._cost(place, part) / abs(brought)
            if best is None or cost < least:
                best, least = (place, part, seconds), cost
        return best

    def _cost(self, place: _Place, part: TimedPart) -> float:
        """How much further from what is written the step leads, below 0 where it leads back."""
        written = max(1, self._written(place))
        shares = [
            ((_value(each, place) - written) / written) ** 2
            for each in (part, self.now[place.part])
        ]
        return shares[0] - shares[1]

    def _value(self, place: _Place) -> int:
        return _value(self.now[place.part], place)

    def _written(self, place: _Place) -> int:
        return _value(self.written[place.part], place)

    def _stepped(self, place: _Place, way: Direction) -> TimedPart | None:
        part, value = self.now[place.part], self._value(place)
        if place.lever is Lever.ROUNDS:
            after = value + way
            may = way > 0 or self.most_rounds is None or self.rounds_taken < self.most_rounds
            return replace(part, rounds=after) if may and 1 <= after <= MOST_ROUNDS else None
        if place.lever is Lever.REST:
            rest = _rested(value, way, LEAST_REST) if part.rounds > 1 else None
            return None if rest is None else replace(part, rest_seconds=rest)
        slot = part.slots[place.slot]
        if place.lever is Lever.BREATHER:
            rest = None if slot.rest_seconds is None else _rested(value, way, LEAST_BREATHER)
            return (
                None if rest is None else _with_slot(part, place, replace(slot, rest_seconds=rest))
            )
        amount = _dosed(slot.dose, way, self.ranges.get(slot.key))
        if amount is None:
            return None
        return _with_slot(part, place, replace(slot, dose=replace(slot.dose, amount=amount)))


def _value(part: TimedPart, place: _Place) -> int:
    match place.lever:
        case Lever.ROUNDS:
            return part.rounds
        case Lever.REST:
            return part.rest_seconds
        case Lever.DOSE:
            return part.slots[place.slot].dose.amount
        case Lever.BREATHER:
            return part.slots[place.slot].rest_seconds or 0


def _with_slot(part: TimedPart, place: _Place, slot: TimedSlot) -> TimedPart:
    slots = (*part.slots[: place.slot], slot, *part.slots[place.slot + 1 :])
    return replace(part, slots=slots)


def _rested(rest: int, way: Direction, least: int) -> int | None:
    """A rest of 0 is none, and stays none."""
    if way < 0:
        return max(least, rest - STEP_OF_REST) if rest > least else None
    return min(MOST_REST, rest + STEP_OF_REST) if 0 < rest < MOST_REST else None


def _dosed(dose: Dose, way: Direction, amounts: DoseRange | None) -> int | None:
    if amounts is None:
        return None
    step = STEP_OF_SECONDS if dose.measure is Measure.SECONDS else 1
    end = amounts.low if way < 0 else min(amounts.high, LIMITS[dose.measure].high)
    if dose.sides is Sides.ALTERNATING and dose.measure is not Measure.SECONDS:
        after = dose.amount + (2 if dose.amount % 2 == 0 else 1) * way
        return after if (after - end) * way <= 0 else None
    if (dose.amount - end) * way >= 0:
        return None
    after = dose.amount + step * way
    return min(after, end) if way > 0 else max(after, end)


def _changes(
    written: Sequence[TimedPart], became: Sequence[TimedPart], pace: Pace
) -> Iterator[Change]:
    """One after the other from what is written, so that their seconds add up."""
    for nth, part in enumerate(written):
        now = part
        for place in _places_of(nth, part):
            before, after = _value(now, place), _value(became[nth], place)
            if before == after:
                continue
            changed = _with_value(now, place, became[nth])
            seconds = _seconds([changed], pace) - _seconds([now], pace)
            slot = part.slots[place.slot] if place.slot >= 0 else None
            key, name = (slot.key, slot.name) if slot else (part.key, part.name)
            yield Change(place.lever, key, name, before, after, seconds)
            now = changed


def _places_of(nth: int, part: TimedPart) -> Iterator[_Place]:
    yield _Place(Lever.ROUNDS, nth)
    yield _Place(Lever.REST, nth)
    for slot in range(len(part.slots)):
        yield _Place(Lever.DOSE, nth, slot)
        yield _Place(Lever.BREATHER, nth, slot)


def _with_value(part: TimedPart, place: _Place, became: TimedPart) -> TimedPart:
    match place.lever:
        case Lever.ROUNDS:
            return replace(part, rounds=became.rounds)
        case Lever.REST:
            return replace(part, rest_seconds=became.rest_seconds)
    slot, other = part.slots[place.slot], became.slots[place.slot]
    if place.lever is Lever.DOSE:
        return _with_slot(part, place, replace(slot, dose=other.dose))
    return _with_slot(part, place, replace(slot, rest_seconds=other.rest_seconds))
