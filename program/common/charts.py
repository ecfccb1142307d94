"""Charts drawn on the server: amounts week by week, and a height over the years. Pure geometry in
percent of the drawing, drawn by `templates/components/columns.html` and `curve.html`; what they
show stands beside them as a table."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

HEADROOM: Final = 1.08
"""The scale's top over the largest amount."""

EMPTY: Final = 14.0
"""Percent: how high a column without a number is drawn, dashed."""


@dataclass(frozen=True)
class Column:
    """`is_known` is False where there is no number, rather than a low one."""

    x: float
    width: float
    y: float
    height: float
    is_known: bool


@dataclass(frozen=True)
class Point:
    x: float
    y: float


@dataclass(frozen=True)
class Tick:
    """Words under a drawing, anchored so that they stay inside it."""

    x: float
    anchor: str
    words: str


@dataclass(frozen=True)
class Columns:
    """Amounts side by side; `band` is where usual ones lie, from its upper edge down."""

    name: str
    description: str
    columns: tuple[Column, ...]
    points: tuple[Point, ...]
    band: tuple[float, float] | None
    top: str
    ticks: tuple[Tick, ...]

    @property
    def segments(self) -> list[tuple[Point, Point]]:
        return list(pairwise(self.points))


@dataclass(frozen=True)
class Curve:
    """One amount over time, from its first to its last moment."""

    name: str
    description: str
    points: tuple[Point, ...]
    ends: tuple[str, str]
    ticks: tuple[Tick, ...]

    @property
    def segments(self) -> list[tuple[Point, Point]]:
        return list(pairwise(self.points))


def columns(
    name: str,
    amounts: Sequence[tuple[str, float | None]],
    *,
    smoothed: Sequence[float | None] = (),
    band: tuple[float, float] | None = None,
) -> Columns | None:
    """Named amounts in order, with their smoothed course over them; None where no amount is known.

    `band` is from the least to the most that is usual. Raises ValueError for negative amounts.
    """
    known = [amount for _, amount in amounts if amount is not None]
    if not known:
        return None
    if min(known) < 0:
        raise ValueError("an amount cannot be negative")
    top = HEADROOM * max(*known, band[1] if band else 0, 1)
    step = 100 / len(amounts)
    return Columns(
        name=name,
        description="; ".join(f"{label}: {_shown(amount)}" for label, amount in amounts),
        columns=tuple(_column(i, amount, top, step) for i, (_, amount) in enumerate(amounts)),
        points=tuple(
            Point(round((i + 0.5) * step, 2), _down(value, top))
            for i, value in enumerate(smoothed)
            if value is not None
        ),
        band=_band(band, top) if band else None,
        top=f"{max(known):.0f}",
        ticks=_ticks([label for label, _ in amounts]),
    )


def _shown(amount: float | None) -> str:
    return "no number" if amount is None else f"{amount:.0f}"


def _column(place: int, amount: float | None, top: float, step: float) -> Column:
    height = EMPTY if amount is None else 100 * amount / top
    return Column(
        x=round((place + 0.2) * step, 2),
        width=round(0.6 * step, 2),
        y=round(100 - height, 2),
        height=round(height, 2),
        is_known=amount is not None,
    )


def _down(value: float, top: float) -> float:
    return round(100 - 100 * value / top, 2)


def _band(band: tuple[float, float], top: float) -> tuple[float, float]:
    upper, lower = _down(band[1], top), _down(band[0], top)
    return upper, round(lower - upper, 2)


def _ticks(labels: Sequence[str]) -> tuple[Tick, ...]:
    if len(labels) == 1:
        return (Tick(50, "middle", labels[0]),)
    return (Tick(0, "start", labels[0]), Tick(100, "end", labels[-1]))


def curve(name: str, moments: Sequence[tuple[str, float, float]], *, unit: str) -> Curve | None:
    """Labelled moments as (label, when, how much), in order; None below two of them."""
    if len(moments) < 2:
        return None
    first, last = moments[0][1], moments[-1][1]
    amounts = [amount for _, _, amount in moments]
    low, high = min(amounts), max(amounts)
    span = max(high - low, 1.0)
    return Curve(
        name=name,
        description="; ".join(f"{label}: {amount:.1f} {unit}" for label, _, amount in moments),
        points=tuple(
            Point(
                round(3 + 94 * (when - first) / ((last - first) or 1), 2),
                round(88 - 70 * (amount - low) / span, 2),
            )
            for _, when, amount in moments
        ),
        ends=(f"{amounts[0]:.1f} {unit}", f"{amounts[-1]:.1f} {unit}"),
        ticks=_ticks([label for label, _, _ in moments]),
    )
