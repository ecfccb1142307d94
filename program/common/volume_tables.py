"""Volumes as a person reads them: by movement pattern, week by week, and as balances of two sides.

Pure: words, numbers and shares in percent, drawn by `templates/program/volumes/`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from program.engine.volume import Ratio, Volume, Work
from program.engine.wording import pattern_in_words

MEASURES: Final[tuple[tuple[str, Callable[[Work], float]], ...]] = (
    ("sets", lambda work: work.sets),
    ("repetitions", lambda work: work.repetitions),
    ("of them left", lambda work: work.left_repetitions),
    ("of them right", lambda work: work.right_repetitions),
    ("seconds under tension", lambda work: work.time_under_tension),
    ("seconds of holds and bouts", lambda work: work.hold_seconds),
    ("metres", lambda work: work.metres),
    ("ground contacts", lambda work: work.ground_contacts),
)
"""Every kind of work that does not add to another, in the order of the columns."""

PARTS_OF_REPETITIONS: Final = frozenset({"of them left", "of them right"})

BALANCES: Final[tuple[tuple[str, str, Callable[[Volume], Ratio]], ...]] = (
    ("push", "pull", lambda volume: volume.push_to_pull),
    ("knee-dominant", "hip-dominant", lambda volume: volume.knee_to_hip),
    ("both legs", "one leg", lambda volume: volume.both_legs_to_one),
)


TALLEST: Final = 20.0
"""Pixels; also in `templates/program/volumes/week_lane.html`."""


@dataclass(frozen=True)
class Row:
    """A pattern, or all of them, with one figure for each of `MEASURES`; "" for none of it."""

    name: str
    figures: tuple[str, ...]


@dataclass(frozen=True)
class Balance:
    """Sets of one kind against sets of another: the words, and the share of the first in percent;
    None where there is neither."""

    first: str
    second: str
    ratio: Ratio
    percent: float | None


@dataclass(frozen=True)
class VolumeSheet:
    """What some work adds up to."""

    measures: tuple[str, ...]
    rows: tuple[Row, ...]
    total: Row
    balances: tuple[Balance, ...]


@dataclass(frozen=True)
class Bar:
    """One week's figure in its lane; `percent` of the largest figure of all lanes that are drawn, 0
    for one that is only written."""

    week: int
    shown: str
    percent: float

    @property
    def height(self) -> float:
        """Of a strip `TALLEST` high; a little always shows."""
        return round(max(1.0, TALLEST * self.percent / 100), 2)

    @property
    def top(self) -> float:
        return round(TALLEST - self.height, 2)


@dataclass(frozen=True)
class WeekLane:
    name: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True)
class Beside:
    """One week's figure of one child, and the one that is written; percent as in a `Bar`."""

    own: Bar
    written: Bar

    @property
    def is_the_same(self) -> bool:
        return self.own.shown == self.written.shown


@dataclass(frozen=True)
class BesideLane:
    name: str
    weeks: tuple[Beside, ...]


@dataclass(frozen=True)
class BesideSheet:
    """What one child's weeks add up to beside the written ones, on one scale."""

    weeks: tuple[int, ...]
    lanes: tuple[BesideLane, ...]
    measures: tuple[BesideLane, ...]
    balances: tuple[BesideLane, ...]
    own: VolumeSheet
    written: VolumeSheet

    @property
    def differences(self) -> list[str]:
        """What is not as written over the whole block: "40 sets, not 48"."""
        totals = zip(
            self.own.measures, self.own.total.figures, self.written.total.figures, strict=True
        )
        return [
            f"{own or 0} {measure}, not {written or 0}"
            for measure, own, written in totals
            if own != written and measure not in PARTS_OF_REPETITIONS
        ]


@dataclass(frozen=True)
class WeeksSheet:
    """What the weeks of a block add up to: sets by pattern as lanes on one scale, then everything
    else week by week, and the whole block."""

    weeks: tuple[int, ...]
    lanes: tuple[WeekLane, ...]
    measures: tuple[WeekLane, ...]
    balances: tuple[WeekLane, ...]
    whole: VolumeSheet


def volume_sheet(volume: Volume) -> VolumeSheet:
    """Patterns with the most sets first."""
    patterns = volume.patterns_by_sets
    return VolumeSheet(
        tuple(name for name, _ in MEASURES),
        tuple(Row(pattern_in_words(name), figures(volume.of_pattern(name))) for name in patterns),
        Row("all together", figures(volume.total)),
        balances(volume),
    )


def weeks_sheet(volumes: Sequence[Volume]) -> WeeksSheet:
    """`volumes` are those of a block's weeks in order."""
    whole = sum(volumes, Volume())
    patterns = whole.patterns_by_sets
    largest = max((v.of_pattern(name).sets for v in volumes for name in patterns), default=0)
    return WeeksSheet(
        tuple(range(1, len(volumes) + 1)),
        tuple(
            _lane(pattern_in_words(name), [v.of_pattern(name).sets for v in volumes], largest)
            for name in patterns
        ),
        tuple(lane for lane in _measures(volumes) if any(bar.shown for bar in lane.bars)),
        tuple(_balances(volumes)),
        volume_sheet(whole),
    )


def beside_sheet(own: Sequence[Volume], written: Sequence[Volume]) -> BesideSheet:
    """The same weeks in order: a child's, and the written ones."""
    own_whole, written_whole = sum(own, Volume()), sum(written, Volume())
    patterns = (own_whole + written_whole).patterns_by_sets

    def sets(volumes: Sequence[Volume], name: str) -> list[float]:
        return [volume.of_pattern(name).sets for volume in volumes]

    largest = max(
        (max(sets(both, name)) for both in (own, written) for name in patterns), default=0
    )
    return BesideSheet(
        weeks=tuple(range(1, len(own) + 1)),
        lanes=tuple(
            _beside(
                _lane(pattern_in_words(name), sets(own, name), largest),
                _lane(pattern_in_words(name), sets(written, name), largest),
            )
            for name in patterns
        ),
        measures=tuple(
            _beside(*lanes)
            for lanes in zip(_measures(own), _measures(written), strict=True)
            if any(bar.shown for lane in lanes for bar in lane.bars)
        ),
        balances=tuple(
            _beside(*lanes) for lanes in zip(_balances(own), _balances(written), strict=True)
        ),
        own=volume_sheet(own_whole),
        written=volume_sheet(written_whole),
    )


def _beside(own: WeekLane, written: WeekLane) -> BesideLane:
    weeks = zip(own.bars, written.bars, strict=True)
    return BesideLane(own.name, tuple(Beside(*bars) for bars in weeks))


def figures(work: Work) -> tuple[str, ...]:
    return tuple(shown(amount(work)) for _, amount in MEASURES)


def balances(volume: Volume) -> tuple[Balance, ...]:
    return tuple(_balance(first, second, ratio(volume)) for first, second, ratio in BALANCES)


def shown(amount: float) -> str:
    """A whole number, "" for none."""
    return f"{round(amount)}" if round(amount) else ""


def _balance(first: str, second: str, ratio: Ratio) -> Balance:
    both = ratio.first + ratio.second
    percent = round(100 * ratio.first / both, 2) if both else None
    return Balance(first, second, ratio, percent)


def _lane(name: str, amounts: Sequence[float], largest: float) -> WeekLane:
    return WeekLane(
        name,
        tuple(
            Bar(week, shown(amount), round(100 * amount / largest, 2) if largest else 0.0)
            for week, amount in enumerate(amounts, start=1)
        ),
    )


def _measures(volumes: Sequence[Volume]) -> list[WeekLane]:
    totals = [volume.total for volume in volumes]
    return [
        _words_lane(name, [shown(amount(total)) for total in totals]) for name, amount in MEASURES
    ]


def _balances(volumes: Sequence[Volume]) -> list[WeekLane]:
    return [
        _words_lane(f"{first} : {second}", [_in_words(ratio(volume)) for volume in volumes])
        for first, second, ratio in BALANCES
    ]


def _words_lane(name: str, words: Sequence[str]) -> WeekLane:
    """A lane without bars."""
    return WeekLane(name, tuple(Bar(week, said, 0.0) for week, said in enumerate(words, start=1)))


def _in_words(ratio: Ratio) -> str:
    return str(ratio) if ratio.first or ratio.second else ""
