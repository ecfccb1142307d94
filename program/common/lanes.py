"""What the program shows as lanes and bars: a session's parts, a week, logged evidence, shares of
children, amounts. Pure: geometry only, drawn by `templates/components/`."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from library.shared.lanes import Cell, Lane, MarkKind, Tint
from program.common.wording import minutes

type FitKind = Literal["as_written", "easier", "harder", "other", "left_out", "undecided"]

WORDS_OF_FIT: dict[FitKind, str] = {
    "as_written": "as written",
    "easier": "easier",
    "harder": "harder",
    "other": "another exercise",
    "left_out": "left out",
    "undecided": "to decide",
}
LEAST_SHARE = 3.0  # percent: one child of sixty must still be seen
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True)
class PartTime:
    """A part's name and its length in seconds, as the timeline gives it."""

    name: str
    seconds: float


def session_lane(name: str, parts: Sequence[PartTime], tinted: int | None = None) -> Lane:
    """A session's parts, as long as they last; `tinted` is the index of the one meant now."""
    cells = tuple(
        Cell(
            label=part.name,
            head=f"{minutes(part.seconds)}{'' if i else ' min'}",
            weight=part.seconds,
            tint="good" if i == tinted else "",
            spoken=f"{part.name} {minutes(part.seconds)} min",
        )
        for i, part in enumerate(parts)
    )
    return Lane(name, cells)


_MARKS: Final[Mapping[str, MarkKind]] = {"done": "done", "some": "half", "not": "missed"}


def mark_of(state: str | None, on: date, today: date) -> MarkKind:
    """What came of a session of that day; `state` is its log's, empty where nobody has logged."""
    if state:
        return _MARKS[state]
    return "missed" if on < today else "not_yet"


@dataclass(frozen=True)
class Day:
    """A date with what was to do on it; `href` leads to it."""

    on: date
    marks: tuple[MarkKind, ...] = ()
    href: str = ""


def week_lane(name: str, days: Sequence[Day], today: date) -> Lane:
    """Days side by side, each with its letter and its marks; today is tinted."""
    return Lane(name, tuple(_day_cell(day, today) for day in days), centred=True)


def _day_cell(day: Day, today: date) -> Cell:
    name = DAYS[day.on.weekday()]
    is_today = day.on == today
    return Cell(
        label="" if is_today else name[0],
        head=name[0] if is_today else "",
        tint="good" if is_today else "",
        marks=day.marks,
        spoken=f"{name} {day.on.day}{', today' if is_today else ''}",
        href=day.href,
    )


@dataclass(frozen=True)
class Evidence:
    """One thing that was seen: the figure first, then where and when."""

    figure: str
    context: str
    tint: Tint = ""


def evidence_lane(name: str, seen: Sequence[Evidence]) -> Lane:
    """What a suggestion rests on, in the order it happened."""
    cells = tuple(
        Cell(label=item.context, head=_kept_whole(item.figure), tint=item.tint) for item in seen
    )
    return Lane(name, cells)


def _kept_whole(figure: str) -> str:
    """Left and right of one side's result stay on one line."""
    return figure.replace(" · ", "\N{NO-BREAK SPACE}·\N{NO-BREAK SPACE}")


@dataclass(frozen=True)
class FitShare:
    kind: FitKind
    x: float
    width: float


@dataclass(frozen=True)
class FitBar:
    """How many children get which version, or how many exercises of one child: shares in percent,
    and the same in words."""

    shares: tuple[FitShare, ...]
    words: tuple[tuple[FitKind, str], ...]

    @property
    def sentence(self) -> str:
        return ", ".join(words for _, words in self.words)


def fit_bar(counts: Mapping[FitKind, int]) -> FitBar:
    """Children by what fit decided; kinds with nobody are left out. Raises on a negative count."""
    if any(count < 0 for count in counts.values()):
        raise ValueError("a share of children cannot be negative")
    present: list[tuple[FitKind, int]] = [
        (kind, counts[kind]) for kind in WORDS_OF_FIT if counts.get(kind)
    ]
    total = sum(count for _, count in present)
    widths = [max(100 * count / total, LEAST_SHARE) for _, count in present]
    scale = 100 / sum(widths) if widths else 0
    shares, x = [], 0.0
    for (kind, _), width in zip(present, widths, strict=True):
        shares.append(FitShare(kind, round(x * scale, 2), round(width * scale, 2)))
        x += width
    words = tuple((kind, f"{count} {WORDS_OF_FIT[kind]}") for kind, count in present)
    return FitBar(tuple(shares), words)


@dataclass(frozen=True)
class Amount:
    """A named amount; `shown` is how it is written; `flagged` marks one that wants a look."""

    name: str
    value: float
    shown: str
    flagged: bool = False


@dataclass(frozen=True)
class Bar:
    name: str
    shown: str
    percent: float
    flagged: bool


def bars(amounts: Sequence[Amount]) -> tuple[Bar, ...]:
    """Amounts of one unit beside each other, the largest filling the row."""
    largest = max((amount.value for amount in amounts), default=0)
    return tuple(
        Bar(
            amount.name,
            amount.shown,
            round(100 * amount.value / largest, 2) if largest > 0 else 0.0,
            amount.flagged,
        )
        for amount in amounts
    )
