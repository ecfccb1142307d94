"""A pathway drawn as lanes, one level under another: easiest on top, steps as lines between them.

The exercises of a row share its width alike. So the lines know, in percent of the row, where they
begin and end, whatever its height: words are broken by the browser. This module knows only slugs
and names; `templates/library/pathway_drawing.html` draws what it returns.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from library.graph import PathwayGraph

MOST = 3  # exercises in a row: on a screen of 320 px each still has room for a long word
GAP = 6.0  # percent between two boxes of one row; also in `static/css/pages/library.css`


@dataclass(frozen=True)
class Place:
    """An exercise on the drawing: `middle` in percent of the row."""

    slug: str
    name: str
    middle: float


type Box = tuple[Place, ...]


@dataclass(frozen=True)
class Climb:
    """A piece of a step's line, in percent of the row; `arrives` at the harder exercise."""

    x1: float
    x2: float
    arrives: bool


@dataclass(frozen=True)
class Row:
    """Boxes side by side, each of exercises that are as hard as each other.

    `level` counts from 1 and may need several rows. `behind` are the lines that cross the row
    behind its boxes, `below` those on their way from it to the next.
    """

    level: int
    begins_level: bool
    ends_level: bool
    boxes: tuple[Box, ...]
    behind: tuple[Climb, ...]
    below: tuple[Climb, ...]


@dataclass(frozen=True)
class Ladder:
    rows: tuple[Row, ...]

    @property
    def levels(self) -> int:
        return self.rows[-1].level if self.rows else 0


type Level = tuple[str, ...]


def ladder(graph: PathwayGraph, names: Mapping[str, str]) -> Ladder:
    """The whole pathway; what has neither step nor lateral is not on it."""
    ranks: list[int] = []
    rows: list[tuple[Box, ...]] = []
    middles: dict[str, float] = {}
    for rank, levels in _ranks(graph):
        ordered = sorted(levels, key=lambda level: _wished_place(graph, level, middles))
        for row in _rows(piece for level in ordered for piece in _pieces(level)):
            boxes = tuple(_boxes(row, names))
            ranks.append(rank)
            rows.append(boxes)
            middles |= {place.slug: place.middle for box in boxes for place in box}
    behind, below = _climbs(graph, rows)
    return Ladder(
        tuple(
            Row(
                level=rank + 1,
                begins_level=rank not in ranks[:index],
                ends_level=rank not in ranks[index + 1 :],
                boxes=boxes,
                behind=tuple(behind[index]),
                below=tuple(below[index]),
            )
            for index, (rank, boxes) in enumerate(zip(ranks, rows, strict=True))
        )
    )


def _ranks(graph: PathwayGraph) -> Iterator[tuple[int, list[Level]]]:
    levels = {tuple(sorted(graph.beside(member) | {member})) for member in graph.members}
    by_rank = sorted(levels, key=lambda level: (graph.rank(level[0]), level))
    for rank, together in groupby(by_rank, key=lambda level: graph.rank(level[0])):
        yield rank, list(together)


def _wished_place(
    graph: PathwayGraph, level: Level, middles: Mapping[str, float]
) -> tuple[float, Level]:
    """Below the middle of what leads there, so that few lines cross."""
    below = [middles[easier] for easier, harder in graph.steps if harder in level]
    return (sum(below) / len(below) if below else 50.0), level


def _pieces(level: Level) -> Iterator[Level]:
    """The level itself, or pieces of about one size where it holds more than a row does."""
    count = -(-len(level) // MOST)
    cuts = [len(level) * piece // count for piece in range(count + 1)]
    return (level[start:end] for start, end in pairwise(cuts))


def _rows(levels: Iterable[Level]) -> list[list[Level]]:
    """The levels of one rank, in as few rows as hold them in their order."""
    rows: list[list[Level]] = []
    for level in levels:
        if not rows or sum(map(len, rows[-1])) + len(level) > MOST:
            rows.append([])
        rows[-1].append(level)
    return rows


def _boxes(row: Sequence[Level], names: Mapping[str, str]) -> Iterator[Box]:
    width = (100 - GAP * (len(row) - 1)) / sum(map(len, row))
    x = width / 2
    for level in row:
        yield tuple(
            Place(slug, names[slug], round(x + index * width, 2))
            for index, slug in enumerate(level)
        )
        x += len(level) * width + GAP


type Pieces = dict[int, list[Climb]]


def _climbs(graph: PathwayGraph, rows: Sequence[Sequence[Box]]) -> tuple[Pieces, Pieces]:
    """The steps' lines in pieces, by the row that they cross or leave behind."""
    where = {
        place.slug: (index, place.middle)
        for index, row in enumerate(rows)
        for box in row
        for place in box
    }
    behind: Pieces = defaultdict(list)
    below: Pieces = defaultdict(list)
    for easier, harder in sorted(graph.steps):
        (start, x1), (end, x2) = where[easier], where[harder]
        count = 2 * (end - start) - 1
        edges = [round(x1 + (x2 - x1) * piece / count, 2) for piece in range(count + 1)]
        for piece, ends in enumerate(pairwise(edges)):
            crossed = behind if piece % 2 else below
            crossed[start + (piece + 1) // 2].append(Climb(*ends, arrives=piece == count - 1))
    return behind, below
