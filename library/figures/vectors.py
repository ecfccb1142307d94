"""Points, directions and turning axes in three dimensions.

World axes: x to where the figure faces when drawn as written, y up, z to its left-hand side.
Lengths are in hundredths of the figure's own stature, angles in degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, cos, degrees, hypot, radians, sin

type Vector = tuple[float, float, float]


def plus(a: Vector, b: Vector) -> Vector:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def minus(a: Vector, b: Vector) -> Vector:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def times(a: Vector, factor: float) -> Vector:
    return a[0] * factor, a[1] * factor, a[2] * factor


def along(start: Vector, direction: Vector, distance: float) -> Vector:
    return (
        start[0] + direction[0] * distance,
        start[1] + direction[1] * distance,
        start[2] + direction[2] * distance,
    )


def dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def length(a: Vector) -> float:
    return hypot(*a)


def distance(a: Vector, b: Vector) -> float:
    return hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2])


def unit(a: Vector) -> Vector:
    return times(a, 1 / (length(a) or 1.0))


def angle_between(a: Vector, b: Vector) -> float:
    """Degrees between two directions, 0 to 180."""
    cosine = dot(a, b) / ((length(a) * length(b)) or 1.0)
    return degrees(acos(max(-1.0, min(1.0, cosine))))


def _turned(first: Vector, second: Vector, angle: float) -> tuple[Vector, Vector]:
    """Both directions, turned so that the first moves towards the second."""
    c, s = cos(radians(angle)), sin(radians(angle))
    (a, b, d), (e, f, g) = first, second
    return (
        (a * c + e * s, b * c + f * s, d * c + g * s),
        (e * c - a * s, f * c - b * s, g * c - d * s),
    )


@dataclass(slots=True)
class Frame:
    """Which way a body part faces: three directions at right angles."""

    ahead: Vector = (1.0, 0.0, 0.0)
    up: Vector = (0.0, 1.0, 0.0)
    left: Vector = (0.0, 0.0, 1.0)

    def lean(self, angle: float) -> Frame:
        """Turn about its own left: positive brings `up` towards `ahead`."""
        if not angle:
            return self
        up, ahead = _turned(self.up, self.ahead, angle)
        return Frame(ahead, up, self.left)

    def roll(self, angle: float) -> Frame:
        """Turn about its own ahead: positive brings `up` towards `left`."""
        if not angle:
            return self
        up, left = _turned(self.up, self.left, angle)
        return Frame(self.ahead, up, left)

    def turn(self, angle: float) -> Frame:
        """Turn about its own up: positive brings `ahead` towards `left`."""
        if not angle:
            return self
        ahead, left = _turned(self.ahead, self.left, angle)
        return Frame(ahead, self.up, left)

    def inside(self, direction: Vector) -> Vector:
        """A world direction as this frame sees it: (ahead, up, left)."""
        return dot(direction, self.ahead), dot(direction, self.up), dot(direction, self.left)
