"""Things beside, under or in the hands of a figure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot
from typing import Any

from library.figures.source import Place, Source
from library.figures.vectors import Vector

# Solid things keep the body out; marks are only seen; carried things follow a point of the body.
SOLID = ("seat", "chair", "step", "sofa", "table", "box", "wall", "cushion", "books")
MARKS = ("mat", "line", "bar", "doorway", "cone", "hurdle", "stick")
CARRIED = ("backpack", "ball", "bottle", "book", "towel", "slider", "broomstick")
CORDS = ("cord", "rope", "swung-rope")
KINDS = (*SOLID, *MARKS, *CARRIED, *CORDS)
HALF_DEPTH = 26.0
CARRIERS = (
    "near.grip", "far.grip", "both.grip", "near.ball", "far.ball", "both.ball", "near.heel",
    "far.heel", "both.heel", "both.knee", "back", "front", "head", "near.ankle",
    "far.ankle",
)  # fmt: skip


@dataclass(frozen=True)
class Prop:
    """`x`, `y`, `z` are the extents of what stands; `at` is what a carried thing follows.

    A cord runs from `at` to the point `to` or to another point of the body, `other`; a skipping
    rope between the hands, or one swung from `at`, makes `turns` rounds in a loop, lowest when
    `begins` of a round has gone by.
    """

    kind: str
    x: tuple[float, float] = (0.0, 0.0)
    y: tuple[float, float] = (0.0, 0.0)
    z: tuple[float, float] = (-HALF_DEPTH, HALF_DEPTH)
    at: str = ""
    other: str = ""
    to: Vector = (0.0, 0.0, 0.0)
    turns: float = 1.0
    begins: float = 0.0

    @property
    def solid(self) -> bool:
        return self.kind in SOLID

    def depth_of(self, point: Vector, radius: float) -> float:
        """How far a ball of `radius` about `point` reaches into this thing; 0 when it does not."""
        gaps = [
            (low - at, at - high)
            for at, (low, high) in zip(point, (self.x, self.y, self.z), strict=True)
        ]
        outside = [max(0.0, *gap) for gap in gaps]
        apart = hypot(*outside)
        if apart > 0:
            return max(0.0, radius - apart)
        return radius - max(max(gap) for gap in gaps)


def read_prop(source: Source, place: Place, value: object) -> Prop:
    """A prop from its table. Raises MovementError naming what the kind allows."""
    table = source.table(
        place, value, ("kind", "x", "y", "z", "top", "at", "with", "to", "turns", "begins")
    )
    kind = source.choice((*place, "kind"), table.get("kind"), KINDS)
    if kind in CARRIED:
        return Prop(kind, at=source.choice((*place, "at"), table.get("at"), CARRIERS))
    if kind in ("rope", "swung-rope"):
        turns = source.number((*place, "turns"), table.get("turns", 1), 0.5, 40)
        begins = source.number((*place, "begins"), table.get("begins", 0), -1, 1)
        at = source.choice((*place, "at"), table.get("at", "both.grip"), CARRIERS)
        return Prop(kind, at=at, turns=turns, begins=begins)
    if kind == "cord":
        at = source.choice((*place, "at"), table.get("at", "both.grip"), CARRIERS)
        if "with" in table:
            other = source.choice((*place, "with"), table["with"], CARRIERS)
            return Prop(kind, at=at, other=other)
        to = source.numbers((*place, "to"), table.get("to"), (2, 3))
        return Prop(kind, at=at, to=(to[0], to[1], [*to, 0.0][2]))
    return _standing(source, place, table, kind)


def _standing(source: Source, place: Place, table: Mapping[str, Any], kind: str) -> Prop:
    x = source.numbers((*place, "x"), table.get("x"), (2,))
    z = source.numbers((*place, "z"), table.get("z", [-HALF_DEPTH, HALF_DEPTH]), (2,))
    if "top" in table and "y" in table:
        raise source.error((*place, "top"), "give top or y, not both")
    y = source.numbers((*place, "y"), table.get("y", [0, table.get("top", 1)]), (2,))
    for name, (low, high) in (("x", x), ("y", y), ("z", z)):
        if low > high:
            raise source.error((*place, name), f"{name} runs from low to high")
    return Prop(kind, (x[0], x[1]), (y[0], y[1]), (z[0], z[1]))
