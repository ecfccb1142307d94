"""What can be measured on a skeleton, by name, in degrees, from its points alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import atan2, degrees

from library.figures.skeleton import SIDES, Skeleton
from library.figures.vectors import Vector, angle_between, minus

UP: Vector = (0.0, 1.0, 0.0)


def _bend(first: str, middle: str, last: str) -> Callable[[Skeleton], float]:
    """How far a joint is from straight."""

    def measure(skeleton: Skeleton) -> float:
        points = skeleton.points
        return angle_between(
            minus(points[middle], points[first]), minus(points[last], points[middle])
        )

    return measure


def _from_upright(low: str, high: str) -> Callable[[Skeleton], float]:
    def measure(skeleton: Skeleton) -> float:
        return angle_between(minus(skeleton.points[high], skeleton.points[low]), UP)

    return measure


def _heel_up(side: str) -> Callable[[Skeleton], float]:
    """The sole's slope: heel above ball is positive."""

    def measure(skeleton: Skeleton) -> float:
        ahead = minus(skeleton.points[f"{side}.ball"], skeleton.points[f"{side}.heel"])
        return degrees(atan2(-ahead[1], (ahead[0] ** 2 + ahead[2] ** 2) ** 0.5))

    return measure


def _straight(side: str) -> Callable[[Skeleton], float]:
    """The furthest that trunk, thigh or shank strays from the line from ear to ankle."""
    parts = (("neck", "pelvis"), (f"{side}.hip", f"{side}.knee"), (f"{side}.knee", f"{side}.ankle"))

    def measure(skeleton: Skeleton) -> float:
        points = skeleton.points
        line = minus(points[f"{side}.ankle"], points["head"])
        return max(angle_between(minus(points[b], points[a]), line) for a, b in parts)

    return measure


def _measures() -> Mapping[str, Callable[[Skeleton], float]]:
    measures: dict[str, Callable[[Skeleton], float]] = {
        "trunk": _from_upright("pelvis", "neck"),
        "hips and ribs": _bend("pelvis", "waist", "chest"),
    }
    for side in SIDES:
        measures |= {
            f"{side}.knee": _bend(f"{side}.hip", f"{side}.knee", f"{side}.ankle"),
            f"{side}.elbow": _bend(f"{side}.shoulder", f"{side}.elbow", f"{side}.wrist"),
            f"{side}.hip": _bend_hip(side),
            f"{side}.shoulder": _raise(side),
            f"{side}.thigh": _from_upright(f"{side}.knee", f"{side}.hip"),
            f"{side}.shank": _from_upright(f"{side}.ankle", f"{side}.knee"),
            f"{side}.forearm": _from_upright(f"{side}.wrist", f"{side}.elbow"),
            f"{side}.arm": _from_upright(f"{side}.wrist", f"{side}.shoulder"),
            f"{side}.leg": _from_upright(f"{side}.ankle", f"{side}.hip"),
            f"{side}.heel": _heel_up(side),
            f"{side}.straight": _straight(side),
        }
    return measures


def _bend_hip(side: str) -> Callable[[Skeleton], float]:
    def measure(skeleton: Skeleton) -> float:
        points = skeleton.points
        trunk = minus(points["neck"], points["pelvis"])
        return 180 - angle_between(trunk, minus(points[f"{side}.knee"], points[f"{side}.hip"]))

    return measure


def _raise(side: str) -> Callable[[Skeleton], float]:
    """The upper arm away from the trunk: 0 by the side, 90 ahead or out, 180 overhead."""

    def measure(skeleton: Skeleton) -> float:
        points = skeleton.points
        trunk = minus(points["waist"], points["neck"])
        arm = minus(points[f"{side}.elbow"], points[f"{side}.shoulder"])
        return angle_between(trunk, arm)

    return measure


MEASURES = _measures()


def measure(skeleton: Skeleton, name: str) -> float:
    """The named measure in degrees, 0 to 180 (the heel's slope may be negative)."""
    return MEASURES[name](skeleton)
