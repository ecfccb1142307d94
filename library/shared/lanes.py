"""Lanes: strips with a quiet baseline and marks along it, computed here, drawn by
`templates/components/lane.html`.

Across, everything is a percentage of the strip, so a lane fills whatever width it is given; down,
everything is in em of the label's size. Labels are laid out for the narrowest strip we serve
(`ROOM`), so text that fits there fits everywhere. This module knows no exercise and no child.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from library.shared.text_width import least_width, text_width, wrap

type MarkKind = Literal["done", "half", "not_yet", "missed", "hurt"]
type Tint = Literal["", "good", "look", "note", "stop"]

ROOM = 17.5  # em; 245 px at the label's 14 px: inside a sheet on a 320 px screen
WIDE = 40.0  # em; where the stylesheet shows the wide strip instead
PADDING = 0.5  # em, left and right of a label
LINES = (2, 3)  # on how many lines a head or a label may stand, the calmer first
LINE = 1.2  # em from one baseline to the next
MARK = 1.1  # em, a mark's diameter

WORDS_OF_MARKS: dict[MarkKind, str] = {
    "done": "done",
    "half": "partly done",
    "not_yet": "still to come",
    "missed": "not done",
    "hurt": "something hurt",
}


@dataclass(frozen=True)
class Cell:
    """One stretch of a lane as the caller knows it.

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
class Line:
    """A line of text: its baseline in em from the lane's top, and whether it is the strong one."""

    text: str
    y: float
    strong: bool


@dataclass(frozen=True)
class Mark:
    """A mark's kind and its centre's distance, in units of a twentieth of its size, from the
    middle of its cell."""

    kind: MarkKind
    offset: float


@dataclass(frozen=True)
class Stretch:
    """A cell with its place: `x` and `width` in percent of the lane, `mark_y` in em."""

    x: float
    width: float
    tint: Tint
    lines: tuple[Line, ...]
    marks: tuple[Mark, ...]
    mark_y: float
    words: str
    href: str

    @property
    def texts(self) -> tuple[str, ...]:
        return tuple(line.text for line in self.lines)


@dataclass(frozen=True)
class Strip:
    """Stretches laid out for one width; `height` in em."""

    height: float
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class Lane:
    """A strip ready to be drawn, and once more for a wide place where words stand better there.

    `key` holds, in order, the words that did not fit on the slim strip.
    """

    name: str
    description: str
    centred: bool
    slim: Strip
    wide: Strip | None
    key: tuple[str, ...]
    legend: tuple[tuple[MarkKind, str], ...]

    @property
    def has_links(self) -> bool:
        return any(stretch.href for stretch in self.slim.stretches)


def shares(weights: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """`room` dealt out by weight, nobody below its least; by least alone where that is too much."""
    if not weights:
        return []
    if sum(least) >= room:
        return [room * part / sum(least) for part in least]
    granted: dict[int, float] = {}
    while True:
        free = [i for i in range(len(weights)) if i not in granted]
        left = room - sum(granted.values())
        total = sum(weights[i] for i in free)
        dealt = {i: left * (weights[i] / total) if total else left / len(free) for i in free}
        short = [i for i in free if dealt[i] < least[i]]
        if not short:
            return [granted.get(i, dealt.get(i, 0.0)) for i in range(len(weights))]
        granted |= {i: least[i] for i in short}


def lane(name: str, cells: Iterable[Cell], *, height: float = 3.2, centred: bool = False) -> Lane:
    """A strip of cells, as wide as their weights ask, each at least as wide as its words.

    `height` in em is the least; three lines of text make it higher. When the words of all cells
    together do not fit the narrowest strip, the cells are numbered and the words become the key.
    """
    cells = list(cells)
    words = tuple(cell.words for cell in cells)
    lines = _fewest_lines(cells, ROOM)
    slim = _strip(cells if lines else _numbered(cells), words, ROOM, height)
    wide = _strip(cells, words, WIDE, height) if _fewest_lines(cells, WIDE) else slim
    return Lane(
        name=name,
        description="; ".join(words),
        centred=centred,
        slim=slim,
        wide=None if _reads_alike(slim, wide) else wide,
        key=() if lines else words,
        legend=tuple(
            (kind, said)
            for kind, said in WORDS_OF_MARKS.items()
            if any(kind in cell.marks for cell in cells)
        ),
    )


def _fewest_lines(cells: Sequence[Cell], room: float) -> int | None:
    """On how many lines heads and labels stand when all cells fit the room, if they ever do."""
    return next((n for n in LINES if sum(_needs(cell, n) for cell in cells) <= room), None)


def _needs(cell: Cell, lines: int) -> float:
    words = max(least_width(cell.head, lines, strong=True), least_width(cell.label, lines))
    return max(words + 2 * PADDING if words else 0.0, len(cell.marks) * (MARK + 0.2))


def _numbered(cells: Sequence[Cell]) -> list[Cell]:
    return [replace(c, head=str(n), label="") for n, c in enumerate(cells, start=1)]


def _reads_alike(one: Strip, other: Strip) -> bool:
    return [s.texts for s in one.stretches] == [s.texts for s in other.stretches]


def _strip(cells: Sequence[Cell], words: Sequence[str], room: float, height: float) -> Strip:
    lines = _fewest_lines(cells, room) or LINES[-1]
    widths = shares([c.weight for c in cells], [_needs(c, lines) for c in cells], room)
    texts = [_texts(cell, width) for cell, width in zip(cells, widths, strict=True)]
    rows = max(map(len, texts), default=0)
    tail = MARK + 0.45 if any(c.marks for c in cells) else 0.0
    height = round(max(height, rows * LINE + tail + 0.9), 2)
    return Strip(
        height,
        tuple(
            Stretch(
                x=round(100 * sum(widths[:i]) / room, 2),
                width=round(100 * widths[i] / room, 2),
                tint=cell.tint,
                lines=_lines(texts[i], height - tail),
                marks=_spread(cell.marks),
                mark_y=round((height + (rows * LINE + 0.45 if rows else 0)) / 2, 2),
                words=words[i],
                href=cell.href,
            )
            for i, cell in enumerate(cells)
        ),
    )


def _texts(cell: Cell, width: float) -> list[tuple[str, bool]]:
    """The cell's lines, strong or not; none where even one word is wider than the cell."""
    room = width - 2 * PADDING + 0.01  # the least width itself must survive the sum
    texts = [(text, True) for text in wrap(cell.head, room, strong=True)]
    texts += [(text, False) for text in wrap(cell.label, room)]
    fits = all(text_width(text, strong=strong) <= width for text, strong in texts)
    return texts if fits else []


def _lines(texts: Sequence[tuple[str, bool]], height: float) -> tuple[Line, ...]:
    top = (height - len(texts) * LINE) / 2 + 0.92
    return tuple(
        Line(text, round(top + i * LINE, 2), strong) for i, (text, strong) in enumerate(texts)
    )


def _spread(kinds: Sequence[MarkKind]) -> tuple[Mark, ...]:
    middle = (len(kinds) - 1) / 2
    return tuple(Mark(kind, (i - middle) * 24) for i, kind in enumerate(kinds))


@dataclass(frozen=True)
class Stop:
    """One exercise of a pathway: `rank` counts from the easiest, 0; equals share a rank."""

    name: str
    rank: int
    others: int = 0  # other children placed here


@dataclass(frozen=True)
class Station:
    """A rank's place on the lane, in percent, and how many other children stand there; `began`
    where the path travelled starts, if that is elsewhere."""

    x: float
    others: int
    here: bool
    began: bool = False


@dataclass(frozen=True)
class PathwayLane:
    """A pathway from easier to harder with one child's placement on it; lengths as in `Lane`.
    `trail` are the two ends of the path travelled, in percent, None where there is none."""

    name: str
    description: str
    height: float
    baseline: float
    others_y: float
    ends_y: float
    stations: tuple[Station, ...]
    anchor: Literal["start", "middle", "end"]
    label_x: float
    label: tuple[Line, ...]
    key: tuple[tuple[str, bool], ...]
    trail: tuple[float, float] | None = None


def pathway_lane(
    name: str, stops: Sequence[Stop], placed: str | None = None, began: str | None = None
) -> PathwayLane:
    """The stops in rank order; `placed` names the one the child works on, None if not placed, and
    `began` the one from which it came there.

    The key pairs every exercise, easiest first, with whether the child stands there.
    """
    ordered = sorted(stops, key=lambda stop: stop.rank)
    ranks = sorted({stop.rank for stop in ordered})
    here = next((stop for stop in ordered if stop.name == placed), None)
    start = next((stop for stop in ordered if stop.name == began and stop is not here), None)
    places = {rank: _station_x(i, len(ranks)) for i, rank in enumerate(ranks)}
    stations = tuple(
        Station(
            x=places[rank],
            others=sum(stop.others for stop in ordered if stop.rank == rank),
            here=here is not None and here.rank == rank,
            began=start is not None and start.rank == rank,
        )
        for rank in ranks
    )
    x = places[here.rank] if here else 0.0
    anchor, texts = _label_beside(x, here.name if here else "not placed yet")
    label = tuple(Line(t, round(1.1 + i * LINE, 2), strong=bool(here)) for i, t in enumerate(texts))
    baseline = round(1.1 + len(texts) * LINE + 0.4, 2)
    where = f"works on {here.name}" if here else "not placed yet"
    where = f"began with {start.name}, {where}" if start else where
    return PathwayLane(
        name=name,
        description=f"{where}; {len(ordered)} exercises from easier to harder",
        height=round(baseline + 3.2, 2),
        baseline=baseline,
        others_y=round(baseline + 1.7, 2),
        ends_y=round(baseline + 2.9, 2),
        stations=stations,
        anchor=anchor,
        label_x=x,
        label=label,
        key=tuple((stop.name, stop is here) for stop in ordered),
        trail=(places[start.rank], places[here.rank]) if start and here else None,
    )


def _station_x(index: int, count: int) -> float:
    return round(4 + 92 * index / (count - 1), 2) if count > 1 else 50.0


def _label_beside(x: float, text: str) -> tuple[Literal["start", "middle", "end"], tuple[str, ...]]:
    """The anchor that needs the fewest lines, the middle first; and the lines."""
    room: dict[Literal["middle", "start", "end"], float] = {
        "middle": 2 * min(x, 100 - x),
        "start": 100 - x,
        "end": x,
    }
    tried = [
        (anchor, wrap(text, percent / 100 * ROOM, strong=True)) for anchor, percent in room.items()
    ]
    fitting = [
        (anchor, lines)
        for anchor, lines in tried
        if all(text_width(line, strong=True) <= room[anchor] / 100 * ROOM for line in lines)
    ]
    return min(fitting or tried, key=lambda choice: len(choice[1]))
