"""A pathway drawn as lanes, one rank under another: easiest on top, steps as lines between them.

Lengths as in `lanes`: across in percent, down in em of the label's size, laid out for the
narrowest strip we serve. Exercises joined by laterals share one box as far as it holds them. This
module knows only slugs and names; `templates/library/ladder.html` draws what it returns.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from library.graph import PathwayGraph
from library.shared.lanes import LINE, PADDING, ROOM, Line, shares
from library.shared.text_width import least_width, wrap

GAP = 1.0  # em between two boxes of one row
CLIMB = 2.2  # em from one rank to the next, for the lines
MARGIN = 1.6  # em at the left, for the rank's number
ON_LINES = 3  # a name may stand on so many


@dataclass(frozen=True)
class Place:
    """An exercise on the drawing: `x`, `width` and `middle` in percent."""

    slug: str
    name: str
    x: float
    width: float
    middle: float
    lines: tuple[Line, ...]
    is_first: bool


@dataclass(frozen=True)
class Box:
    """Exercises that are as hard as each other, side by side."""

    x: float
    width: float
    y: float
    height: float
    places: tuple[Place, ...]

    @property
    def bottom(self) -> float:
        return round(self.y + self.height, 2)


@dataclass(frozen=True)
class Climb:
    """A step's line, from the lower edge of the easier exercise to the upper of the harder."""

    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True)
class Rung:
    """A rank's number, counted from 1, and its first line's middle."""

    number: int
    y: float


@dataclass(frozen=True)
class Ladder:
    height: float
    rungs: tuple[Rung, ...]
    boxes: tuple[Box, ...]
    climbs: tuple[Climb, ...]


type Level = tuple[str, ...]


def ladder(graph: PathwayGraph, names: Mapping[str, str]) -> Ladder:
    """The whole pathway; what has neither step nor lateral is not on it."""
    boxes: list[Box] = []
    rungs: list[Rung] = []
    middles: dict[str, float] = {}
    y = 0.0
    for rank, levels in _ranks(graph):
        ordered = sorted(levels, key=lambda level: _wished_place(graph, level, middles))
        fitting = [piece for level in ordered for piece in _pieces(level, names)]
        for index, row in enumerate(_rows(fitting, names)):
            height = _height(row, names)
            if index == 0:
                rungs.append(Rung(rank + 1, round(y + height / 2 + 0.35, 2)))
            boxes += _boxes(row, names, y, height)
            y = round(y + height + GAP, 2)
        middles = {place.slug: place.middle for box in boxes for place in box.places}
        y = round(y - GAP + CLIMB, 2)
    return Ladder(
        height=round(max(0.0, y - CLIMB) + 0.2, 2),
        rungs=tuple(rungs),
        boxes=tuple(boxes),
        climbs=tuple(_climbs(graph, boxes)),
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


def _needs(slug: str, names: Mapping[str, str]) -> float:
    return least_width(names[slug], ON_LINES) + 2 * PADDING


def _pieces(level: Level, names: Mapping[str, str]) -> Iterator[Level]:
    """The level itself, or what of it fits one row each where it is wider than that."""
    piece: Level = ()
    for slug in level:
        if piece and sum(_needs(one, names) for one in (*piece, slug)) > ROOM - MARGIN:
            yield piece
            piece = ()
        piece = (*piece, slug)
    yield piece


def _rows(levels: Iterable[Level], names: Mapping[str, str]) -> list[list[Level]]:
    """The levels of one rank, in as few rows as hold their names."""
    rows: list[list[Level]] = []
    left = 0.0
    for level in levels:
        width = sum(_needs(slug, names) for slug in level) + GAP
        if not rows or width > left:
            rows.append([])
            left = ROOM - MARGIN + GAP
        rows[-1].append(level)
        left -= width
    return rows


def _widths(row: Sequence[Level], names: Mapping[str, str]) -> list[float]:
    """The width in em of every exercise of a row, in order."""
    least = [_needs(slug, names) for level in row for slug in level]
    room = ROOM - MARGIN - GAP * (len(row) - 1)
    return shares([1.0] * len(least), least, room)


def _height(row: Sequence[Level], names: Mapping[str, str]) -> float:
    slugs = [slug for level in row for slug in level]
    lines = max(
        len(_texts(slug, width, names))
        for slug, width in zip(slugs, _widths(row, names), strict=True)
    )
    return round(lines * LINE + 1.1, 2)


def _texts(slug: str, width: float, names: Mapping[str, str]) -> tuple[str, ...]:
    return wrap(names[slug], width - 2 * PADDING)


def _boxes(
    row: Sequence[Level], names: Mapping[str, str], y: float, height: float
) -> Iterator[Box]:
    widths = iter(_widths(row, names))
    x = MARGIN
    for level in row:
        begin, places = x, []
        for index, slug in enumerate(level):
            width = next(widths)
            places.append(
                Place(
                    slug=slug,
                    name=names[slug],
                    x=_percent(x),
                    width=_percent(width),
                    middle=_percent(x + width / 2),
                    lines=_lines(_texts(slug, width, names), y, height),
                    is_first=index == 0,
                )
            )
            x += width
        yield Box(_percent(begin), _percent(x - begin), y, height, tuple(places))
        x += GAP


def _lines(texts: Sequence[str], y: float, height: float) -> tuple[Line, ...]:
    top = y + (height - len(texts) * LINE) / 2 + 0.92
    return tuple(
        Line(text, round(top + index * LINE, 2), strong=False) for index, text in enumerate(texts)
    )


def _climbs(graph: PathwayGraph, boxes: Sequence[Box]) -> Iterator[Climb]:
    where = {place.slug: (box, place) for box in boxes for place in box.places}
    for easier, harder in sorted(graph.steps):
        low_box, low = where[easier]
        high_box, high = where[harder]
        yield Climb(low.middle, low_box.bottom, high.middle, high_box.y)


def _percent(em: float) -> float:
    return round(100 * em / ROOM, 2)
