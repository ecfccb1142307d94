"""A skeleton and its props seen by a camera: lines of a width and a tone on the picture plane."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import cos, hypot, pi, radians, sin, tau

from library.figures.props import CARRIED, Prop
from library.figures.skeleton import Skeleton
from library.figures.vectors import Vector, plus, times

type Point = tuple[float, float]

LEG, ARM, TRUNK, HEAD, NECK, NOSE = 5.4, 4.3, 8.6, 14.6, 4.6, 3.0
FRONT_TRUNK = 6.0
AHEAD = 7.4  # of the middle of the head, the nose
PROP = 1.8
OVERLAP = 4.0  # how near two legs' middle lines must come before one is set apart
FACING = 0.45  # how far a face must be turned to the viewer to be drawn
ROPE_RADIUS, SWUNG_ROPE = 52.0, 46.0
CURVE_STEPS = 12


NEAR_LEG, FAR_LEG, NEAR_ARM, FAR_ARM = (
    tuple(f"{side}.{name}" for name in names)
    for names in (
        ("hip", "knee", "ankle", "heel", "ball", "toe"),
        ("shoulder", "elbow", "wrist", "fingers"),
    )
    for side in ("near", "far")
)


@dataclass(frozen=True)
class Part:
    """One stroke: `tone` is i(nk), f(ar) or p(rop); `command` (l, q or c) joins the points.

    `front` things are drawn over the body. By `group`, an "arm" cuts an outline out of the "body"
    and a "leg" out of the body drawn before it. `dash` is the distance from one short dash to the
    next.
    """

    tone: str
    width: float
    points: list[Point]
    command: str = "l"
    closed: bool = False
    filled: bool = False
    front: bool = False
    group: str = ""
    dash: float = 0.0

    def passes(self) -> list[Point]:
        """Points that the line passes; a curve stays well inside those that bend it."""
        if self.command == "l":
            return self.points
        return [_on_curve(self.points, step / CURVE_STEPS) for step in range(CURVE_STEPS + 1)]


def _on_curve(points: list[Point], share: float) -> Point:
    """A point of a Bézier curve (de Casteljau's construction)."""
    while len(points) > 1:
        points = [
            (x + (to_x - x) * share, y + (to_y - y) * share)
            for (x, y), (to_x, to_y) in pairwise(points)
        ]
    return points[0]


# From where each view is seen: degrees round from the near side to the front, and up.
VIEW_ANGLES = {
    "side": (0.0, 0.0),
    "corner": (35.0, 0.0),
    "front": (90.0, 0.0),
    "raised": (40.0, 32.0),
    "above": (0.0, 90.0),
}


@dataclass(frozen=True)
class Camera:
    """Looks at the figure's near side (0 degrees), at its front (90) or between, from `height`.

    `height` is 0 degrees for a look along the floor and 90 for one straight down.
    """

    angle: float
    mirrored: bool
    height: float = 0.0

    @classmethod
    def facing(cls, view: str, mirrored: bool) -> Camera:
        angle, height = VIEW_ANGLES[view]
        return cls(angle, mirrored, height)

    @property
    def above(self) -> bool:
        """Whether the floor is seen as a plane rather than as a line."""
        return self.height > 0

    @property
    def sideways(self) -> bool:
        return self.angle == 0 and not self.above

    @cached_property
    def _turned(self) -> tuple[float, float]:
        return sin(radians(self.angle)), cos(radians(self.angle))

    @cached_property
    def _raised(self) -> tuple[float, float]:
        return sin(radians(self.height)), cos(radians(self.height))

    def across(self, point: Vector) -> float:
        sine, cosine = self._turned
        right = point[2] * sine - point[0] * cosine
        return -right if self.mirrored else right

    @property
    def ahead(self) -> float:
        """Which way in the picture the figure faces: -1 left, 1 right, 0 neither."""
        if self.angle > 45 or self.height > 45:
            return 0.0
        return 1.0 if self.mirrored else -1.0

    def span(self, x: tuple[float, float], z: tuple[float, float]) -> tuple[float, float]:
        """From left to right, what a thing of these extents covers in the picture."""
        corners = [self.across((at, 0.0, across)) for at in x for across in z]
        return min(corners), max(corners)

    def toward(self, direction: Vector) -> float:
        """How far a direction points to the viewer: 1 straight to, 0 across, -1 away."""
        sine, cosine = self._raised
        return direction[1] * sine + self._nearer(direction) * cosine

    def _nearer(self, point: Vector) -> float:
        """How far along the floor towards the viewer."""
        sine, cosine = self._turned
        return point[2] * cosine + point[0] * sine

    def see(self, point: Vector, shift: float) -> Point:
        sine, cosine = self._raised
        down = (self._nearer(point) * sine if sine else 0.0) - point[1] * cosine
        return self.across(point) - shift, down


def draw_parts(
    skeleton: Skeleton, camera: Camera, shift: float, crossing: bool = False, faces: bool = False
) -> list[Part]:
    """The figure, furthest first.

    With `crossing` the near leg is set apart from what it passes before; `faces` says that the face
    is to be seen.
    """

    def line(*names: str) -> list[Point]:
        return [camera.see(skeleton.points[name], shift) for name in names]

    front = not camera.ahead
    far = "i" if front else "f"
    head = line("head")[0]
    ahead = skeleton.frames["skull"].ahead
    nose = camera.see(plus(skeleton.points["head"], times(ahead, AHEAD)), shift)
    hip, *leg = line(*NEAR_LEG)
    half = _middle(hip, leg[0])
    return [
        Part(far, ARM, line(*FAR_ARM), group="arm" if front else ""),
        Part(far, LEG, line(*FAR_LEG), group="body" if front else ""),
        Part("i", NECK, line("neck", "head"), group="body"),
        Part("i", HEAD, [head, head], group="body"),
        Part("i", NOSE, [nose, nose], group="body"),
        *([_nose(skeleton, camera, shift)] if faces else []),
        _trunk(skeleton, camera, shift),
        *([Part("i", LEG, [half, *leg], group="leg")] if crossing else []),
        Part("i", LEG, [hip, half] if crossing else [hip, *leg], group="body"),
        Part("i", ARM, line(*NEAR_ARM), group="arm"),
    ]


def _middle(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _nose(skeleton: Skeleton, camera: Camera, shift: float) -> Part:
    """The nose of a face turned to the viewer; it shrinks to nothing as the head turns away."""
    skull = skeleton.frames["skull"]
    radius = NOSE / 2 * max(0.0, min(1.0, 2 * camera.toward(skull.ahead)))
    tip = plus(skeleton.points["head"], times(skull.ahead, AHEAD))
    turns = (tau * number / 8 for number in range(8))
    around = [
        plus(times(skull.up, 1.4 * radius * sin(turn)), times(skull.left, radius * cos(turn)))
        for turn in turns
    ]
    seen = [camera.see(plus(tip, each), shift) for each in around]
    return Part("f", 0.0, seen, closed=True, filled=True, group="body")


def shows_face(skeletons: Iterable[Skeleton], camera: Camera) -> bool:
    """Whether the face is ever turned to a viewer who does not see the figure from its side."""
    return not camera.sideways and any(
        camera.toward(skeleton.frames["skull"].ahead) > FACING for skeleton in skeletons
    )


def legs_cross(skeletons: Iterable[Skeleton], camera: Camera) -> bool:
    """Whether the near leg ever passes before the far one, ink on ink, seen along the floor."""
    if camera.ahead or camera.above:
        return False
    for skeleton in skeletons:
        hip, knee, *rest = (camera.see(skeleton.points[name], 0.0) for name in NEAR_LEG)
        behind = [camera.see(skeleton.points[name], 0.0) for name in FAR_LEG]
        near = [_middle(hip, knee), knee, *rest]
        if any(apart(a, b) < OVERLAP for a in pairwise(near) for b in pairwise(behind)):
            return True
    return False


def apart(one: tuple[Point, Point], other: tuple[Point, Point]) -> float:
    """The distance between two stretches of a line, 0 where they cross."""
    if _turns(*one, other[0]) * _turns(*one, other[1]) < 0 and (
        _turns(*other, one[0]) * _turns(*other, one[1]) < 0
    ):
        return 0.0
    ends = [(point, other) for point in one] + [(point, one) for point in other]
    return min(_away(point, stretch) for point, stretch in ends)


def _turns(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _away(point: Point, stretch: tuple[Point, Point]) -> float:
    (x, y), (to_x, to_y) = stretch
    across, down = to_x - x, to_y - y
    squared = across**2 + down**2
    share = ((point[0] - x) * across + (point[1] - y) * down) / squared if squared else 0.0
    share = max(0.0, min(1.0, share))
    return hypot(point[0] - x - share * across, point[1] - y - share * down)


def _trunk(skeleton: Skeleton, camera: Camera, shift: float) -> Part:
    points = skeleton.points
    if camera.sideways:
        middle = times(plus(points["waist"], points["chest"]), 0.5)
        ends = times(plus(points["pelvis"], points["neck"]), 0.5)
        bow = plus(times(middle, 2.0), times(ends, -1.0))
        curve = [camera.see(at, shift) for at in (points["pelvis"], bow, points["neck"])]
        return Part("i", TRUNK, curve, command="q", group="body")
    names = ("near.shoulder", "far.shoulder", "far.hip", "near.hip")
    corners = [camera.see(points[name], shift) for name in names]
    return Part("i", FRONT_TRUNK, corners, closed=True, filled=True, group="body")


def prop_parts(
    prop: Prop, skeleton: Skeleton, camera: Camera, shift: float, share: float
) -> list[Part]:
    """The lines of a prop; `share` is how much of the loop has passed, 0 to 1."""
    if prop.kind in CARRIED:
        return _carried(prop, skeleton, camera, shift)
    if prop.kind == "cord":
        hand = camera.see(carrier(prop.at, skeleton), shift)
        end = carrier(prop.other, skeleton) if prop.other else prop.to
        return [Part("p", PROP, [hand, camera.see(end, shift)], front=bool(prop.other))]
    if prop.kind == "rope":
        return _rope(prop, skeleton, camera, shift, share)
    if prop.kind == "swung-rope":
        return _swung_rope(prop, skeleton, camera, shift, share)
    if camera.above:
        return _from_above(prop, camera, shift)
    left, right = (edge - shift for edge in camera.span(prop.x, prop.z))
    if prop.kind == "wall" and not camera.ahead:
        return _wall_behind(left, right, -prop.y[0], -prop.y[1])
    draw = _STANDING.get(prop.kind, _block)
    return draw(left, right, -prop.y[0], -prop.y[1], camera.ahead)


def _from_above(prop: Prop, camera: Camera, shift: float) -> list[Part]:
    """The top of what stands, and what of its upright edges is seen past it."""
    (left, right), (back, front), (low, top) = prop.x, prop.z, prop.y
    corners = ((left, back), (left, front), (right, front), (right, back))
    edge = [camera.see((x, top, z), shift) for x, z in corners]
    foot = [camera.see((x, low, z), shift) for x, z in corners]
    hidden = min(edge, key=lambda point: point[1])
    upright = [pair for pair in zip(edge, foot, strict=True) if pair[0] != hidden]
    seen = upright if prop.solid and edge != foot and camera.height < 90 else []
    face = Part("p", PROP, edge, closed=True)
    return [face, *(Part("p", PROP, list(pair)) for pair in seen)]


def carrier(at: str, skeleton: Skeleton) -> Vector:
    """The point of the body that a carried thing follows."""
    points = skeleton.points
    ribs = skeleton.frames["ribs"]
    if at.startswith("both."):
        name = at.partition(".")[2]
        return times(plus(points[f"near.{name}"], points[f"far.{name}"]), 0.5)
    if at == "back":
        return plus(times(plus(points["chest"], points["neck"]), 0.5), times(ribs.ahead, -8.0))
    if at == "front":
        return plus(times(plus(points["chest"], points["neck"]), 0.5), times(ribs.ahead, 8.0))
    if at == "head":
        return plus(points["head"], times(skeleton.frames["skull"].up, 8.5))
    return points[at]


def _carried(prop: Prop, skeleton: Skeleton, camera: Camera, shift: float) -> list[Part]:
    x, y = camera.see(carrier(prop.at, skeleton), shift)
    drop, size, front = _HELD[prop.kind]
    if prop.at in ("back", "front", "head"):
        drop = 0.0
    y -= drop
    if prop.kind in ("ball", "bottle"):
        half = 0.0 if prop.kind == "ball" else 3.5
        return [Part("p", size, [(x, y - half), (x, y + half)], front=front)]
    if prop.kind in ("slider", "towel", "book"):
        half = size / 2
        return [Part("p", 2.6, [(x - half, y), (x + half, y)], front=front)]
    if prop.kind == "broomstick" and camera.sideways:
        return [Part("p", 9.0, [(x, y), (x, y)])]
    half, tall = (size / 2, size / 2 + 1) if prop.kind == "backpack" else (size / 2, 0.0)
    corners = [
        (x - half, y - tall),
        (x + half, y - tall),
        (x + half, y + tall),
        (x - half, y + tall),
    ]
    return [Part("p", 2.4, corners, closed=True, filled=True, front=front)]


# Below the carrying point, size, and whether it is drawn over the body.
_HELD: Mapping[str, tuple[float, float, bool]] = {
    "backpack": (-6.0, 11.0, True),
    "ball": (0.0, 11.0, True),
    "bottle": (-3.0, 5.2, True),
    "book": (0.0, 9.0, True),
    "towel": (-0.8, 17.0, False),
    "slider": (-0.8, 17.0, False),
    "broomstick": (0.0, 60.0, False),
}


def _rope(prop: Prop, skeleton: Skeleton, camera: Camera, shift: float, share: float) -> list[Part]:
    """A skipping rope from hand to hand, lowest when `begins` of a round has gone by."""
    near, far = skeleton.points["near.grip"], skeleton.points["far.grip"]
    swing = cos(2 * pi * (prop.turns * share - prop.begins))
    hands = times(plus(near, far), 0.5)
    reach = (hands[1] - 1.0) if swing > 0 else ROPE_RADIUS
    bow = hands[1] - swing * reach * 4 / 3
    ahead = 40.0 * _sine(prop, share)
    across = [
        camera.see((hand[0] + ahead * 4 / 3, bow, hand[2] * 3.2), shift) for hand in (near, far)
    ]
    ends = [camera.see(hand, shift) for hand in (near, far)]
    return [Part("p", 1.6, [ends[0], across[0], across[1], ends[1]], command="c")]


def _swung_rope(
    prop: Prop, skeleton: Skeleton, camera: Camera, shift: float, share: float
) -> list[Part]:
    """A doubled rope swung in circles beside the body."""
    hand = carrier(prop.at, skeleton)
    round_ = 2 * pi * (prop.turns * share - prop.begins)
    along = (sin(round_), -cos(round_), 0.0)
    across = (cos(round_), sin(round_), 0.0)
    beyond = plus(hand, times(along, SWUNG_ROPE * 4 / 3))
    loop = [hand, plus(beyond, times(across, 7.0)), plus(beyond, times(across, -7.0)), hand]
    return [Part("p", 1.6, [camera.see(at, shift) for at in loop], command="c", front=True)]


def _sine(prop: Prop, share: float) -> float:
    return cos(2 * pi * (prop.turns * share - prop.begins) + pi / 2)


def _block(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    half = PROP / 2
    corners = [(left + half, low), (left + half, high + half), (right - half, high + half)]
    return [Part("p", PROP, [*corners, (right - half, low)])]


def _chair(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    """A seat on legs; its back is away from where the figure faces."""
    back = left if facing >= 0 else right
    inward = 1.0 if back == left else -1.0
    parts = _block(left, right, low, high, facing)
    if facing:
        parts.append(Part("p", PROP, [(back + inward, high), (back - inward, high - 24)]))
    return parts


def _seat(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    return _block(left, right, low, high, facing)


def _sofa(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    corners = [(left + 1.5, low - 1.5), (left + 1.5, high + 1.5), (right - 1.5, high + 1.5)]
    corners.append((right - 1.5, low - 1.5))
    return [Part("p", 3.0, corners, closed=True, filled=True)]


def _table(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    top = Part("p", 2.6, [(left, high + 1.3), (right, high + 1.3)])
    legs = [Part("p", PROP, [(x, high), (x, 0.0)]) for x in (left + 4, right - 4)]
    return [top, *legs]


def _wall(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    """The face of the wall that the figure is at: the one nearer to where it begins."""
    inside = PROP / 2 if abs(left) < abs(right) else -PROP / 2
    face = min(left, right, key=abs) + inside
    return [Part("p", PROP, [(face, low), (face, high)])]


def _wall_behind(left: float, right: float, low: float, high: float) -> list[Part]:
    """A wall seen from the front: a pale face that the figure stands before."""
    half = PROP / 2
    corners = [(left + half, low), (left + half, high + half), (right - half, high + half)]
    return [Part("g", PROP, [*corners, (right - half, low)], closed=True, filled=True)]


def _mat(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    return [Part("p", 2.2, [(left, 1.1), (right, 1.1)])]


def _line(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    return [Part("p", 3.0, [(left, 3.4), (right, 3.4)])]


def _stroke(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    return [Part("p", 2.4, [(left, low), (right, high)])]


def _bar(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    posts = [Part("p", 1.4, [(x, high), (x, 0.0)]) for x in (left, right)]
    return [*posts, Part("p", max(3.6, 9 - right + left), [(left, high), (right, high)])]


def _cone(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    middle = (left + right) / 2
    corners = [(left + 1, low - 1), (middle, high + 1), (right - 1, low - 1)]
    return [Part("p", 2.0, corners, closed=True, filled=True)]


def _hurdle(left: float, right: float, low: float, high: float, facing: float) -> list[Part]:
    return [Part("p", PROP, [(left, low), (left, high), (right, high), (right, low)])]


_STANDING = {
    "chair": _chair,
    "seat": _seat,
    "sofa": _sofa,
    "cushion": _sofa,
    "books": _sofa,
    "table": _table,
    "wall": _wall,
    "mat": _mat,
    "line": _line,
    "bar": _bar,
    "doorway": _stroke,
    "stick": _stroke,
    "cone": _cone,
    "hurdle": _hurdle,
}
