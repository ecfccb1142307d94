"""What carries a figure: the points that touch something, and the base they make."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from library.figures import body
from library.figures.props import Prop
from library.figures.skeleton import SIDES, Skeleton
from library.figures.vectors import Vector

TOUCH = 1.0  # nearer than this is touching
# The centre of mass may be this far outside the base: joints are points here, flesh is not.
MARGIN_OF_BALANCE = 2.0
PULL = 60.0

type Spot = tuple[float, float]

DEEP = ("pelvis", "waist", "chest", "neck", "head", "hip", "shoulder")  # not mere joints

# Half the breadth of the body at a landmark, from side to side.
BREADTH = {
    "pelvis": 6.0,
    "waist": 6.0,
    "chest": 7.0,
    "neck": 8.0,
    "head": 4.0,
    "heel": 2.0,
    "ball": 2.6,
    "toe": 2.0,
    "knee": 2.5,
    "elbow": 2.0,
    "wrist": 2.0,
    "fingers": 3.0,
    "hip": 3.0,
    "shoulder": 3.0,
    "ankle": 2.0,
}


def _touching(skeleton: Skeleton, props: Sequence[Prop]) -> list[tuple[str, Vector]]:
    solid = [prop for prop in props if prop.solid]
    touching = []
    for name, point in skeleton.points.items():
        radius = body.RADIUS.get(name.rpartition(".")[2])
        if radius is None:
            continue
        on_floor = point[1] - radius < TOUCH
        if on_floor or any(prop.depth_of(point, radius + TOUCH) > 0 for prop in solid):
            touching.append((name, point))
    return touching


def _hand_holds(skeleton: Skeleton) -> list[Vector]:
    return [
        skeleton.points[contact.landmark]
        for contact in skeleton.contacts
        if contact.landmark.endswith(("grip", "wrist"))
    ]


def touches_something(skeleton: Skeleton, props: Sequence[Prop]) -> bool:
    return bool(_touching(skeleton, props) or _hand_holds(skeleton))


def base_of_support(skeleton: Skeleton, props: Sequence[Prop]) -> list[Spot]:
    """Spots on the floor plan (x, z) between which the body is carried."""
    spots: list[Spot] = []
    for name, point in _touching(skeleton, props):
        part = name.rpartition(".")[2]
        breadth, depth = BREADTH[part], body.RADIUS[part] if part in DEEP else 0.0
        spots += [(point[0], point[2] - breadth), (point[0], point[2] + breadth)]
        spots += [(point[0] - depth, point[2]), (point[0] + depth, point[2])]
    spots += [(hold[0], hold[2]) for hold in _hand_holds(skeleton)]
    return spots + _pulled_back(skeleton, props, spots)


def _pulled_back(skeleton: Skeleton, props: Sequence[Prop], spots: list[Spot]) -> list[Spot]:
    """A taut cord, or a fixed hold in the hands, lets the body lean away from it."""
    anchors = [prop.to for prop in props if prop.kind == "cord" and not prop.other]
    anchors += [
        skeleton.points[f"{side}.grip"]
        for side in SIDES
        if any(c.landmark == f"{side}.grip" and c.steady for c in skeleton.contacts)
    ]
    if not spots:
        return []
    middle = sum(x for x, _ in spots) / len(spots)
    return [(middle - (PULL if at[0] > middle else -PULL), at[2]) for at in anchors]


def off_balance(skeleton: Skeleton, props: Sequence[Prop]) -> float:
    """How far the centre of mass, seen from above, is outside the base; 0 inside."""
    x, _, z = skeleton.centre_of_mass()
    hull = _hull(base_of_support(skeleton, props))
    if not hull:
        return float("inf")
    edges = list(zip(hull, [*hull[1:], hull[0]], strict=True))
    if len(hull) > 2 and all(_turn(a, b, (x, z)) >= 0 for a, b in edges):
        return 0.0
    return min(_from_edge(a, b, (x, z)) for a, b in edges)


def _turn(a: Spot, b: Spot, c: Spot) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _hull(spots: Sequence[Spot]) -> list[Spot]:
    """The convex outline, anticlockwise (Andrew's monotone chain)."""
    ordered = sorted(set(spots))
    if len(ordered) < 3:
        return ordered
    halves = []
    for run in (ordered, ordered[::-1]):
        half: list[Spot] = []
        for spot in run:
            while len(half) > 1 and _turn(half[-2], half[-1], spot) <= 0:
                half.pop()
            half.append(spot)
        halves.append(half[:-1])
    return halves[0] + halves[1]


def _from_edge(a: Spot, b: Spot, spot: Spot) -> float:
    across, along = b[0] - a[0], b[1] - a[1]
    size = across**2 + along**2
    share = ((spot[0] - a[0]) * across + (spot[1] - a[1]) * along) / size if size else 0.0
    share = max(0.0, min(1.0, share))
    return hypot(spot[0] - a[0] - share * across, spot[1] - a[1] - share * along)
