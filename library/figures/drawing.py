"""Drawing a movement as an SVG that moves by itself, and a still of any of its phases.

The drawing needs no script and no inline style: limbs move by SMIL. Loaded as an image it follows
the viewer's light or dark scheme; where less motion is asked for it shows two stills instead, which
a page asks for itself (`pair`), since not every browser tells an image so.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import blake2s
from html import escape
from itertools import pairwise
from math import inf

from library.figures.motion import Key, Timeline, key_skeletons
from library.figures.movement import Movement
from library.figures.outline import (
    Camera,
    Part,
    draw_parts,
    legs_cross,
    prop_parts,
    shows_face,
)
from library.figures.skeleton import Skeleton
from library.figures.vectors import distance, minus

DRAWING_VERSION = 8  # raise it when the look changes, so that cached drawings are drawn anew
SCALE = 4  # drawing units in a hundredth of stature; whole numbers keep the file small
TOLERANCE = 0.45  # how far a drawn point may stray from its true path, in hundredths of stature
SAMPLES_PER_SECOND = 20
MOST_SAMPLES = 30  # from one key pose to the next, however slowly it goes
SHAPE = 162 / 112  # of every picture, wide to high
VIEW_WIDTH = 121.5  # at least; somebody standing needs 162
LEAST_WIDTH = 80.0  # of a small picture in a list
MARGIN, BELOW = 4.0, 6.0  # left free about a figure, and under the floor's line
OUTLINE = 1.1  # the gap that sets a limb apart from the body behind it

STROKES = {"i": "#1d2b2a", "f": "#808d87", "p": "#8f8468", "g": "#cdc5b2"}
DARK = {"i": "#eef3ee", "f": "#7d8b86", "p": "#94875f", "g": "#3d4f4c"}


def _colours(strokes: dict[str, str]) -> str:
    lines = "".join(f".{tone}{{stroke:{colour}}}" for tone, colour in strokes.items())
    fills = "".join(f".{tone}.h{{fill:{strokes[tone]}}}" for tone in ("i", "p", "g"))
    return lines + fills


STYLE = (
    f"{_colours(STROKES)}@media(prefers-color-scheme:dark){{{_colours(DARK)}}}"
    "@media(prefers-reduced-motion:reduce){.m{display:none}.s{display:inline}}"
)


@dataclass(frozen=True)
class Box:
    """What the drawing shows, in hundredths of stature on the picture plane, y down."""

    left: float
    top: float
    width: float
    height: float


@lru_cache(maxsize=512)
def svg(movement: Movement, tempo: str | None = None, side: str = "left") -> str:
    """The moving figure at this tempo ("3-1-1-0"; None for the movement's own), one loop repeated.

    `side` is the side that works: "left" draws the movement as written, "right" its mirror image.
    """
    return _Animation(movement, tempo, side).drawing()


@lru_cache(maxsize=512)
def pair(movement: Movement, side: str = "left") -> str:
    """The start and the most different key pose side by side, without motion."""
    animation = _Animation(movement, None, side)
    return _document(movement, animation.box, animation.side_by_side())


@lru_cache(maxsize=2048)
def still(movement: Movement, phase: str = "", side: str = "left") -> str:
    """The figure at the end of the named phase ("start": at the beginning), close to, for a list.

    Without a phase it is in the key pose most unlike its start, which tells most. Raises KeyError
    for a phase the movement does not have.
    """
    animation = _Animation(movement, None, side)
    moments = {timed.name: timed.end for timed in reversed(animation.timeline.phases)}
    moments["start"] = 0.0
    return animation.still(moments[phase] if phase else animation.other_key().at, close=True)


def still_at(movement: Movement, seconds: float, side: str = "left") -> str:
    """The figure at a second of its loop, as far away as while it moves."""
    return _Animation(movement, None, side).still(seconds)


def afresh(movement: Movement, pose: str) -> tuple[str, str]:
    """The figure in a key pose, and moving. Kept nowhere: for a figure that is being changed."""
    animation = _Animation(movement, None, "left")
    met = [key.at for key in animation.timeline.keys if key.name == pose]
    skeleton = animation.timeline.at(met[0]) if met else key_skeletons(movement)[pose]
    layers = _layered([(part, "") for part in animation.picture(skeleton)], animation.box, "pose")
    return _document(movement, animation.box, layers), animation.drawing()


def content_hash(movement: Movement, tempo: str | None = None, side: str = "left") -> str:
    """Changes whenever the drawing would: for cache keys and file names."""
    words = "\0".join((movement.text, movement.slug, tempo or "", side, str(DRAWING_VERSION)))
    return blake2s(words.encode(), digest_size=10).hexdigest()


class _Animation:
    def __init__(self, movement: Movement, tempo: str | None, side: str) -> None:
        self.movement = movement
        self.timeline = Timeline(movement, tempo)
        self.name = content_hash(movement, tempo, side)
        self.camera = Camera.facing(movement.view, side == "right")
        self.times = self._times()
        self.skeletons = [self.timeline.at(seconds) for seconds in self.times]
        self.start = self.skeletons[0]
        some = self.skeletons[:: max(1, len(self.skeletons) // 40)]
        self.crossing = legs_cross(some, self.camera)
        self.faces = shows_face(some, self.camera)
        self.box = self._box()

    def _times(self) -> list[float]:
        """The seconds to look at: more where it moves fast, none within what keeps still."""
        swings = any(prop.kind in ("rope", "swung-rope") for prop in self.movement.props)
        times = [0.0]
        for start, end in pairwise(self.timeline.keys):
            span = end.at - start.at
            still = start.pose == end.pose and not swings
            count = 1 if still else min(round(span * SAMPLES_PER_SECOND), MOST_SAMPLES)
            times += [start.at + span * (k + 1) / max(1, count) for k in range(max(1, count))]
        return times

    def picture(self, skeleton: Skeleton) -> list[Part]:
        """Everything to draw at this instant, furthest first."""
        shift = self.shift(skeleton)
        ends = (self.box.left, self.box.left + self.box.width)
        floor = (
            [] if self.camera.above else [Part("g", 1.6, [(x, 0.8) for x in ends], group="floor")]
        )
        props = [
            part
            for prop in self.movement.props
            for part in prop_parts(prop, skeleton, self.camera, shift, self._share(skeleton))
        ]
        behind = [part for part in props if not part.front]
        ahead = [replace(part, group="body") for part in props if part.front]
        *body, near_arm = draw_parts(skeleton, self.camera, shift, self.crossing, self.faces)
        return [*floor, *self._floor_marks(shift), *behind, *body, *ahead, near_arm]

    def shift(self, skeleton: Skeleton) -> float:
        """How far the picture moves along with a travelling figure."""
        if self.movement.travel == (0.0, 0.0):
            return 0.0
        first = self.camera.across(self.start.points["pelvis"])
        return self.camera.across(skeleton.points["pelvis"]) - first

    def _share(self, skeleton: Skeleton) -> float:
        return skeleton.seconds / self.timeline.seconds

    def _floor_marks(self, shift: float) -> list[Part]:
        """Marks on the floor that pass by under a travelling figure."""
        x, z = self.movement.travel
        travel = abs(self.camera.across((x, 0.0, z)))
        if not travel:
            return []
        gap = travel / max(1, round(travel / 14))
        left = self.box.left - gap * (2 + round(travel / gap)) - shift
        right = left + self.box.width + 2 * travel + 4 * gap
        return [Part("g", 1.8, [(left, 4.2), (right, 4.2)], dash=gap, group="ticks")]

    def _box(self) -> Box:
        self.box = Box(0, 0, 0, 0)
        if self.movement.close:
            return self._close_up(*self.movement.close)
        reaches = []
        for skeleton in self.skeletons[:: max(1, len(self.skeletons) // 40)]:
            shift = self.shift(skeleton)
            parts = draw_parts(skeleton, self.camera, shift)
            for prop in self.movement.props:
                parts += prop_parts(prop, skeleton, self.camera, shift, self._share(skeleton))
            reaches.append(_extent(parts))
        lefts, tops, rights, bottoms = zip(*reaches, strict=True)
        self.reach = self._reached(min(lefts), min(tops), max(rights), max(bottoms))
        return self._framed(min(lefts), min(tops), max(rights), max(bottoms), VIEW_WIDTH)

    def _reached(self, left: float, top: float, right: float, bottom: float) -> Box:
        """All that the figure and its things reach, whatever the shape of that."""
        below = bottom + MARGIN if self.camera.above else BELOW
        top -= MARGIN
        return Box(left - MARGIN, top, right - left + 2 * MARGIN, below - top)

    def _framed(self, left: float, top: float, right: float, bottom: float, least: float) -> Box:
        """What shows all of it in the shape of every picture, at least so wide."""
        below = bottom + MARGIN if self.camera.above else BELOW
        width = max(least, right - left + 2 * MARGIN, (below + MARGIN - top) * SHAPE)
        height = width / SHAPE
        above = (top + bottom - height) / 2 if self.camera.above else BELOW - height
        return Box((left + right - width) / 2, above, width, height)

    def close_to(self, skeleton: Skeleton) -> Box:
        """What shows this one instant as large as a list of small pictures wants it."""
        if self.movement.close:
            return self.box
        parts = [part for part in self.picture(skeleton) if part.group not in ("floor", "ticks")]
        return self._framed(*_extent(parts), LEAST_WIDTH)

    def _close_up(self, x: float, y: float, width: float) -> Box:
        height = width / SHAPE
        across, down = self.camera.see((x, y, 0.0), 0.0)
        return Box(across - width / 2, down - height / 2, width, height)

    def drawing(self) -> str:
        pictures = [self.picture(skeleton) for skeleton in self.skeletons]
        kept = _kept_frames(pictures, self.times)
        lasts = self.timeline.seconds
        times = ";".join(_short(self.times[number] / lasts, 4) for number in kept)
        moving = [
            (part, self._animate([pictures[k][number] for k in kept], times))
            for number, part in enumerate(pictures[0])
        ]
        layers = _layered(moving, self.box, f"{self.name}m")
        content = f'<g class="m">{layers}</g><g class="s" display="none">{self.side_by_side()}</g>'
        return _document(self.movement, self.box, content, self._told_reach())

    def still(self, seconds: float, *, close: bool = False) -> str:
        """The figure at a second of its loop, as far away as while it moves or `close` to."""
        skeleton = self.timeline.at(min(seconds, self.timeline.seconds))
        name = f"{self.name}{seconds * 1000:.0f}"
        content = _layered([(part, "") for part in self.picture(skeleton)], self.box, name)
        return _document(self.movement, self.close_to(skeleton) if close else self.box, content)

    def _told_reach(self) -> str:
        """What a place of another shape may show alone, as attributes; not where marks pass by."""
        if self.movement.close or self.movement.travel != (0.0, 0.0):
            return ""
        fit = "xMidYMid" if self.camera.above else "xMidYMax"
        return f'data-reach="{_numbers(self.reach)}" data-fit="{fit}" '

    def _animate(self, parts: list[Part], times: str) -> str:
        shapes = [_shape(part) for part in parts]
        if len(set(shapes)) == 1:
            return ""
        seconds = _short(self.timeline.seconds, 3)
        return (
            f'<animate attributeName="d" dur="{seconds}s" repeatCount="indefinite" '
            f'keyTimes="{times}" values="{";".join(shapes)}"/>'
        )

    def side_by_side(self) -> str:
        """The start and the most different key pose, for those who asked for less motion.

        Both as large as fits: low ones one above the other.
        """
        pictures = [
            [part for part in self.picture(skeleton) if part.group != "ticks"]
            for skeleton in (self.start, self.timeline.at(self.other_key().at))
        ]
        windows = _alike([self._around(parts) for parts in pictures])
        box = self.box
        beside = replace(box, width=box.width / 2), (box.width / 2, 0.0)
        stacked = replace(box, height=box.height / 2), (0.0, box.height / 2)
        half, (right, down) = max(
            (beside, stacked),
            key=lambda way: min(way[0].width / windows[0].width, way[0].height / windows[0].height),
        )
        cells = (half, replace(half, left=half.left + right, top=half.top + down))
        return "".join(map(self._cell, pictures, windows, cells, (0, 1)))

    def other_key(self) -> Key:
        """The key pose that is most unlike the start."""
        return max(self.timeline.keys, key=lambda key: self._unlike_start(self.timeline.at(key.at)))

    def _unlike_start(self, skeleton: Skeleton) -> float:
        """How unlike the start this is; where sides alternate, its mirror image is no other."""
        alike = _difference(self.start, skeleton)
        if not self.movement.mirror:
            return alike
        return min(alike, _difference(self.start, mirrored(skeleton)))

    def _cell(self, parts: list[Part], window: Box, cell: Box, number: int) -> str:
        """One of the two stills in its half of the picture, the floor from edge to edge."""
        ends = (window.left - window.width, window.left + 2 * window.width)
        parts = [
            replace(part, points=[(x, y) for x, (_, y) in zip(ends, part.points, strict=True)])
            if part.group == "floor"
            else part
            for part in parts
        ]
        layers = _layered([(part, "") for part in parts], self.box, f"{self.name}s{number}")
        fit = "xMidYMid" if self.camera.above else "xMidYMax"
        return (
            f'<svg {_place(cell)} viewBox="{_numbers(window)}" preserveAspectRatio="{fit}">'
            f"{layers}</svg>"
        )

    def _around(self, parts: list[Part]) -> Box:
        """The figure and its props alone, down to the floor; the middle half of a close-up."""
        if self.movement.close:
            half = self.box.width / 2
            return replace(self.box, left=self.box.left + half / 2, width=half)
        return self._reached(*_extent(part for part in parts if part.group != "floor"))


def _alike(boxes: list[Box]) -> list[Box]:
    """The same boxes, all as large as the largest, about their middle and down to where they go."""
    wide, high = max(box.width for box in boxes), max(box.height for box in boxes)
    return [
        Box(box.left + (box.width - wide) / 2, box.top + box.height - high, wide, high)
        for box in boxes
    ]


def _extent(parts: Iterable[Part]) -> tuple[float, float, float, float]:
    """How far left, up, right and down these reach."""
    drawn = [(x, y, part.width / 2) for part in parts for x, y in part.passes()]
    return (
        min(x - half for x, _, half in drawn),
        min(y - half for _, y, half in drawn),
        max(x + half for x, _, half in drawn),
        max(y + half for _, y, half in drawn),
    )


def _difference(first: Skeleton, second: Skeleton) -> float:
    """How unlike two poses are, wherever along the floor they stand."""
    x, _, z = minus(second.points["pelvis"], first.points["pelvis"])
    along = (x, 0.0, z)
    return sum(distance(first.points[name], minus(at, along)) for name, at in second.points.items())


def mirrored(skeleton: Skeleton) -> Skeleton:
    """The same body with its left side on its right."""
    other = {"near": "far", "far": "near"}
    points = {}
    for name, (x, y, z) in skeleton.points.items():
        side, dot, part = name.partition(".")
        points[other.get(side, side) + dot + part] = (x, y, -z)
    return replace(skeleton, points=points)


def _kept_frames(pictures: list[list[Part]], times: list[float]) -> list[int]:
    """The frames to keep so that straight lines between them stay within tolerance.

    For every drawn number the slopes from the last kept frame that pass all later ones within
    tolerance form a narrowing cone; a frame outside it keeps the one before.
    """
    flat = [[n for part in picture for point in part.points for n in point] for picture in pictures]
    kept, last = [0], 0
    cones = [(-inf, inf)] * len(flat[0])
    for number in range(1, len(flat)):
        cones = _narrowed(cones, flat[last], flat[number], times[number] - times[last])
        if not cones:
            last = number - 1
            kept.append(last)
            gone = times[number] - times[last]
            cones = _narrowed([(-inf, inf)] * len(flat[0]), flat[last], flat[number], gone)
    return [*kept, len(flat) - 1]


def _narrowed(
    cones: list[tuple[float, float]], start: list[float], now: list[float], seconds: float
) -> list[tuple[float, float]]:
    """The cones after one more frame; empty when the frame lies outside one of them."""
    narrowed = []
    for (low, high), first, after in zip(cones, start, now, strict=True):
        slope, spare = (after - first) / seconds, TOLERANCE / seconds
        if not low <= slope <= high:
            return []
        narrowed.append((max(low, slope - spare), min(high, slope + spare)))
    return narrowed


def _short(number: float, places: int) -> str:
    return f"{number:.{places}f}".rstrip("0").rstrip(".") or "0"


def _shape(part: Part) -> str:
    points = [(round(x * SCALE), round(y * SCALE)) for x, y in part.points]
    (x, y), words = points[0], []
    for next_x, next_y in points[1:]:
        words.append(f"{next_x - x} {next_y - y}")
        if part.command == "l":
            x, y = next_x, next_y
    shape = f"M{points[0][0]} {points[0][1]}{part.command}{' '.join(words)}"
    return shape.replace(" -", "-") + ("z" if part.closed else "")


def _layered(parts: list[tuple[Part, str]], box: Box, name: str) -> str:
    """The parts in their order; limbs cut a thin outline out of the body that they cross."""
    keyed = [(f"g{name}{number}", *part) for number, part in enumerate(parts)]
    limbs = [each for each in keyed if each[1].group in ("arm", "leg")]
    arms = [(key, part) for key, part, _ in limbs if part.group == "arm"]
    masks = [_mask(f"g{name}", arms, box)]
    masks += [_mask(f"{key}m", [(key, part)], box) for key, part, _ in limbs if part.group == "leg"]
    paths = (f'<path id="{key}" d="{_shape(part)}">{inside}</path>' for key, part, inside in limbs)
    layers, body = [f"<defs>{''.join(paths)}{''.join(masks)}</defs>"], ""
    for key, part, inside in keyed:
        if part.group == "leg":
            body = f'<g mask="url(#{key}m)">{body}</g>{_use(key, part)}'
        elif part.group == "body":
            body += _path(part, inside)
        else:
            layers.append(f'<g mask="url(#g{name})">{body}</g>' if body else "")
            layers.append(_use(key, part) if part.group == "arm" else _path(part, inside))
            body = ""
    return "".join(layers)


def _mask(name: str, limbs: list[tuple[str, Part]], box: Box) -> str:
    """Leaves everything but the limbs with a gap about them."""
    cuts = "".join(f'<use href="#{key}"/>' for key, _ in limbs)
    gap = _short((limbs[0][1].width + 2 * OUTLINE) * SCALE, 1)
    place = _place(box)
    return (
        f'<mask id="{name}" maskUnits="userSpaceOnUse" {place}><rect {place} fill="#fff"/>'
        f'<g stroke="#000" stroke-width="{gap}">{cuts}</g></mask>'
    )


def _use(key: str, part: Part) -> str:
    return f'<use href="#{key}" {_look(part)}/>'


def _look(part: Part) -> str:
    stroke = f'class="{part.tone}{" h" if part.filled else ""}" stroke="{STROKES[part.tone]}"'
    fill = f' fill="{STROKES[part.tone]}"' if part.filled else ""
    width = f' stroke-width="{_short(part.width * SCALE, 1)}"'
    if not part.dash:
        return f"{stroke}{fill}{width}"
    on, off = 1.2 * SCALE, (part.dash - 1.2) * SCALE
    dashes = f' stroke-linecap="butt" stroke-dasharray="{_short(on, 2)} {_short(off, 2)}"'
    return f"{stroke}{fill}{width}{dashes}"


def _path(part: Part, inside: str = "") -> str:
    opening = f'<path {_look(part)} d="{_shape(part)}"'
    return f"{opening}>{inside}</path>" if inside else f"{opening}/>"


def _numbers(box: Box) -> str:
    return " ".join(f"{n * SCALE:.0f}" for n in (box.left, box.top, box.width, box.height))


def _place(box: Box) -> str:
    names = ("x", "y", "width", "height")
    pairs = zip(names, _numbers(box).split(), strict=True)
    return " ".join(f'{name}="{number}"' for name, number in pairs)


def _document(movement: Movement, box: Box, content: str, attributes: str = "") -> str:
    view = _numbers(box)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" {attributes}role="img" '
        f'fill="none" stroke-linecap="round" stroke-linejoin="round">'
        f"<title>{escape(movement.title)}</title><desc>{escape(movement.describe)}</desc>"
        f"<style>{STYLE}</style>{content}</svg>"
    )
