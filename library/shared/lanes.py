"""Lanes: strips with a quiet baseline and marks along it, drawn by `templates/components/lane.html`
and `pathway_lane.html`.

What is known here is who gets which share of a strip and where on it something stands. Words are
broken by the browser, which knows their width. This module knows no exercise and no child.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

type MarkKind = Literal["done", "half", "not_yet", "missed", "hurt"]
type Tint = Literal["", "good", "look", "note", "stop"]

WORDS_OF_MARKS: dict[MarkKind, str] = {
    "done": "done",
    "half": "partly done",
    "not_yet": "still to come",
    "missed": "not done",
    "hurt": "something hurt",
}


@dataclass(frozen=True)
class Cell:
    """One stretch of a lane.

    `weight` is its share of the strip (minutes, say); `spoken` replaces head and label for a
    screen reader; `href` makes the stretch a link.
    """

    label: str = ""
    head: str = ""
    weight: float = 1.0
    tint: Tint = ""
    marks: tuple[MarkKind, ...] = ()
    spoken: str = ""
    href: str = ""

    @property
    def words(self) -> str:
        said = self.spoken or " ".join(part for part in (self.head, self.label) if part)
        return ", ".join([said, *(WORDS_OF_MARKS[mark] for mark in self.marks)])


@dataclass(frozen=True)
class Lane:
    """A strip of cells, as wide as their weights ask, each at least as wide as its words."""

    name: str
    cells: tuple[Cell, ...]
    centred: bool = False

    @property
    def stretches(self) -> list[tuple[int, Cell]]:
        """Every cell behind its share of the strip."""
        return list(zip(shares([cell.weight for cell in self.cells]), self.cells, strict=True))

    @property
    def legend(self) -> list[tuple[MarkKind, str]]:
        """The marks that stand on it, and what they mean."""
        return [
            (kind, said)
            for kind, said in WORDS_OF_MARKS.items()
            if any(kind in cell.marks for cell in self.cells)
        ]


def shares(weights: Sequence[float]) -> list[int]:
    """What a stylesheet can know of the weights: whole percent, 1 to 99 (`[data-share]`)."""
    total = sum(weights)
    return [_share(100 * weight / total) if total else 1 for weight in weights]


def _share(percent: float) -> int:
    return min(99, max(1, round(percent)))


@dataclass(frozen=True)
class Stop:
    """One exercise of a pathway: `rank` counts from the easiest, 0; equals share a rank."""

    name: str
    rank: int


@dataclass(frozen=True)
class Station:
    """A rank's place on the lane, in percent; `began` where the path travelled starts, if that is
    not `here`."""

    x: float
    here: bool
    began: bool = False


@dataclass(frozen=True)
class PathwayLane:
    """A pathway from easier to harder with one child's placement on it.

    `label_share` is where the placement's name wants its middle, as in `shares`. `trail` are the
    two ends of the path travelled, in percent, None where there is none.
    """

    name: str
    description: str
    stations: tuple[Station, ...]
    label: str
    label_share: int
    is_placed: bool
    trail: tuple[float, float] | None = None


def pathway_lane(
    name: str, stops: Sequence[Stop], placed: str | None = None, began: str | None = None
) -> PathwayLane:
    """The stops in rank order; `placed` names the one the child works on, None if not placed, and
    `began` the one from which it came there."""
    ordered = sorted(stops, key=lambda stop: stop.rank)
    ranks = sorted({stop.rank for stop in ordered})
    here = next((stop for stop in ordered if stop.name == placed), None)
    start = next((stop for stop in ordered if stop.name == began and stop is not here), None)
    places = {rank: _station_x(i, len(ranks)) for i, rank in enumerate(ranks)}
    stations = tuple(
        Station(
            x=places[rank],
            here=here is not None and here.rank == rank,
            began=start is not None and start.rank == rank,
        )
        for rank in ranks
    )
    where = f"works on {here.name}" if here else "not placed yet"
    where = f"began with {start.name}, {where}" if start else where
    return PathwayLane(
        name=name,
        description=f"{where}; {len(ordered)} exercises from easier to harder",
        stations=stations,
        label=here.name if here else "not placed yet",
        label_share=_share(places[here.rank] if here else 0),
        is_placed=here is not None,
        trail=(places[start.rank], places[here.rank]) if start and here else None,
    )


def _station_x(index: int, count: int) -> float:
    return round(4 + 92 * index / (count - 1), 2) if count > 1 else 50.0
