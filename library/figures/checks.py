"""Whether a figure is right, by measurement: every frame at 30 a second.

Distances are in hundredths of stature, so 1.0 is one per cent of height. A finding says which
check, when in the loop, and what was measured against what is allowed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from library.figures import body
from library.figures.measures import measure
from library.figures.motion import FRAMES_PER_SECOND, Timed, Timeline, frames, key_skeletons
from library.figures.movement import Movement
from library.figures.names import in_words, the, the_joint
from library.figures.props import Prop
from library.figures.skeleton import SIDES, Skeleton
from library.figures.support import MARGIN_OF_BALANCE, off_balance, touches_something
from library.figures.vectors import angle_between, distance, minus

LENGTH_TOLERANCE = 0.01
DEPTH_TOLERANCE = 1.0
CONTACT_TOLERANCE = 1.0
# The fastest joints of a vertical jump turn at some 800-1000 degrees a second (jumping
# biomechanics, from memory); nothing drawn here may be faster.
FASTEST = 900.0
STATIC_PHASES = ("lowering", "pause", "lifting", "top", "hold")
SLOW_SECONDS = 1.0


@dataclass(frozen=True)
class FigureFault:
    """`check` is its name, `seconds` when in the loop, `words` what was found and allowed.

    `plain` says it to a coach who changes a figure.
    """

    check: str
    seconds: float
    words: str
    plain: str

    def __str__(self) -> str:
        return f"{self.check} at {self.seconds:.2f} s: {self.words}"


LENGTHS = {
    ("shoulder", "elbow"): body.UPPER_ARM,
    ("elbow", "wrist"): body.FOREARM,
    ("wrist", "fingers"): body.HAND,
    ("hip", "knee"): body.THIGH,
    ("knee", "ankle"): body.SHANK,
    ("heel", "ball"): body.BALL - body.HEEL,
    ("ball", "toe"): body.TOE - body.BALL,
}
TRUNK_LENGTHS = {
    ("pelvis", "waist"): body.PELVIS,
    ("waist", "chest"): body.WAIST,
    ("chest", "neck"): body.CHEST,
    ("neck", "head"): body.NECK_TO_HEAD,
}
JOINT_RANGES = {
    "leg.hip": "hip",
    "leg.out": "hip_out",
    "leg.knee": "knee",
    "leg.ankle": "ankle",
    "leg.toes": "toes",
    "arm.flex": "shoulder",
    "arm.out": "shoulder_out",
    "arm.elbow": "elbow",
    "arm.wrist": "wrist",
}
TRUNK_RANGES = ("bend", "side", "twist", "neck")


def findings(movement: Movement, tempo: str | None = None) -> list[FigureFault]:
    """Everything wrong with a movement at a tempo; empty when nothing is."""
    played = frames(movement, tempo)
    moving = _without_repeats(played)
    return [
        *segment_lengths(moving),
        *joint_ranges(moving),
        *depths(moving, movement.props),
        *floating(moving, movement.props),
        *contacts(played),
        *balance(moving, Timeline(movement, tempo).phases, movement),
        *key_angles(movement),
        *speeds(played),
    ]


def advice(movement: Movement, start: Movement) -> list[str]:
    """What a coach who changed `start` may want to look at again, once each, in plain sentences."""
    seen = {limb: at for limb, at in _slides(movement).items() if limb not in _slides(start)}
    seen = {f"{limb} slides": at for limb, at in seen.items()}
    for finding in findings(movement):
        seen.setdefault(finding.plain, finding.seconds)
    return [
        f"{plain[0].upper()}{plain[1:]}" + (f", {at:.1f} s into it." if at else ".")
        for plain, at in seen.items()
    ]


def _slides(movement: Movement) -> dict[str, float]:
    """The hands and feet that are pushed along a surface, and when that begins.

    That is right for a towel slide; so it is no finding by itself.
    """
    slid: dict[str, float] = {}
    for before, after in pairwise(Timeline(movement).keys):
        for limb, kind in before.pose.holds.items():
            here, there = before.pose.channels, after.pose.channels
            lifted = there.get(f"{limb}@lift") or before.out_of == "flight"
            if kind != after.pose.holds.get(limb) or f"{limb}@x" not in here or lifted:
                continue
            moved = max(abs(there[f"{limb}@{axis}"] - here[f"{limb}@{axis}"]) for axis in "xz")
            if moved > CONTACT_TOLERANCE:
                side, _, part = limb.partition(".")
                slid.setdefault(the(f"{side}.{'foot' if part == 'leg' else 'hand'}"), before.at)
    return slid


def _without_repeats(played: list[Skeleton]) -> list[Skeleton]:
    """One frame of every stillness is as good as all of them."""
    return played[:1] + [
        now
        for before, now in pairwise(played)
        if now.points != before.points or now.phase != before.phase
    ]


def _segments() -> Iterable[tuple[str, str, float]]:
    for (start, end), length in TRUNK_LENGTHS.items():
        yield start, end, length
    for side in SIDES:
        for (start, end), length in LENGTHS.items():
            yield f"{side}.{start}", f"{side}.{end}", length


def segment_lengths(played: Sequence[Skeleton]) -> list[FigureFault]:
    """Bones neither stretch nor shrink."""
    found = []
    for skeleton in played:
        for start, end, length in _segments():
            drawn = distance(skeleton.points[start], skeleton.points[end])
            if abs(drawn - length) > LENGTH_TOLERANCE:
                words = f"{start} to {end} is {drawn:.2f}; it is {length:.2f} in this body"
                plain = f"{the(start)} and {the(end)} are drawn too near or too far apart"
                found.append(FigureFault("segment length", skeleton.seconds, words, plain))
    return _first_of_each(found)


def joint_ranges(played: Sequence[Skeleton]) -> list[FigureFault]:
    """No joint goes further than a joint goes; knees and elbows bend their own way."""
    names = {name: name for name in TRUNK_RANGES}
    names |= {f"{side}.{joint}": key for side in SIDES for joint, key in JOINT_RANGES.items()}
    found = []
    for skeleton in played:
        for name, key in names.items():
            low, high = body.RANGES[key]
            angle = skeleton.angles[name]
            if not low - 0.5 <= angle <= high + 0.5:
                words = f"{name} is {angle:.0f} degrees; allowed: {low} to {high}"
                plain = f"{the_joint(name)} goes further than a joint goes"
                found.append(FigureFault("joint range", skeleton.seconds, words, plain))
        found += _knees_ahead(skeleton)
    return _first_of_each(found)


def _knees_ahead(skeleton: Skeleton) -> list[FigureFault]:
    """A bent knee points the way its hip allows: within 60 degrees of straight ahead."""
    found = []
    for side in SIDES:
        turned = skeleton.angles[f"{side}.leg.turn"]
        if skeleton.angles[f"{side}.leg.knee"] > 15 and abs(turned) > 60:
            words = (
                f"{side}.leg.turn is {turned:.0f} degrees with the knee bent; allowed: -60 to 60"
            )
            plain = f"{the(f'{side}.knee')} points away from where its foot can follow"
            found.append(FigureFault("joint range", skeleton.seconds, words, plain))
    return found


def depths(played: Sequence[Skeleton], props: Sequence[Prop]) -> list[FigureFault]:
    """Nothing sinks into the floor or into a solid thing."""
    found = []
    solid = [prop for prop in props if prop.solid]
    for skeleton in played:
        for name, point in skeleton.points.items():
            radius = body.RADIUS.get(name.rpartition(".")[2], 0.0)
            if radius - point[1] > DEPTH_TOLERANCE:
                words = f"{name} is {radius - point[1]:.1f} below the floor; allowed: 1"
                plain = f"{the(name)} sinks into the floor"
                found.append(FigureFault("depth", skeleton.seconds, words, plain))
            for prop in solid:
                depth = prop.depth_of(point, radius)
                if depth > DEPTH_TOLERANCE:
                    words = f"{name} is {depth:.1f} inside the {prop.kind}; allowed: 1"
                    plain = f"{the(name)} sinks into the {prop.kind}"
                    found.append(FigureFault("depth", skeleton.seconds, words, plain))
    return _first_of_each(found)


def floating(played: Sequence[Skeleton], props: Sequence[Prop]) -> list[FigureFault]:
    """Outside a flight something carries the body."""
    found = [
        FigureFault(
            "floating",
            skeleton.seconds,
            "nothing touches the floor, a thing or a hand hold",
            "the body floats: nothing touches the floor or a thing",
        )
        for skeleton in played
        if skeleton.phase != "flight" and not touches_something(skeleton, props)
    ]
    return found[:1]


def contacts(played: Sequence[Skeleton]) -> list[FigureFault]:
    """What is declared to rest somewhere is there, and stays while it is declared to stay."""
    found = []
    resting: dict[str, tuple[float, float, float]] = {}
    for skeleton in played:
        steady = {contact.landmark for contact in skeleton.contacts if contact.steady}
        resting = {name: at for name, at in resting.items() if name in steady}
        for contact in skeleton.contacts:
            point = skeleton.points[contact.landmark]
            miss = distance(point, contact.at)
            if miss > CONTACT_TOLERANCE:
                words = f"{contact.landmark} is {miss:.1f} from where it is held; allowed: 1"
                plain = f"{the(contact.landmark)} does not reach where it is held"
                found.append(FigureFault("contact", skeleton.seconds, words, plain))
            if contact.steady:
                moved = distance(point, resting.setdefault(contact.landmark, point))
                if moved > CONTACT_TOLERANCE:
                    words = f"{contact.landmark} slid {moved:.1f} while held; allowed: 1"
                    plain = f"{the(contact.landmark)} slides"
                    found.append(FigureFault("contact", skeleton.seconds, words, plain))
    return _first_of_each(found)


def balance(
    played: Sequence[Skeleton], phases: Sequence[Timed], movement: Movement
) -> list[FigureFault]:
    """In holds and slow movements, and when a landing ends, the body is over its base."""
    found = []
    step = 1 / FRAMES_PER_SECOND
    for skeleton in played:
        phase = next(p for p in phases if skeleton.seconds < p.end - 1e-9)
        landed = phase.name == "landing" and skeleton.seconds > phase.end - 1.5 * step
        taking_off = any(p.name == "flight" and abs(p.start - phase.end) < step for p in phases)
        slow = phase.name in STATIC_PHASES and phase.seconds >= SLOW_SECONDS and not taking_off
        if slow or landed:
            off = off_balance(skeleton, movement.props)
            if off > MARGIN_OF_BALANCE:
                words = (
                    f"the centre of mass is {off:.1f} outside the base in the {phase.name}; "
                    f"allowed: {MARGIN_OF_BALANCE:g}"
                )
                plain = "the body would topple: its weight is not over what carries it"
                found.append(FigureFault("balance", skeleton.seconds, words, plain))
    return found[:1]


def key_angles(movement: Movement) -> list[FigureFault]:
    """The angles that make the exercise what it is."""
    if not movement.angles:
        words = "no key angle is declared; every movement has one"
        return [FigureFault("key angle", 0.0, words, "no angle says what makes it this exercise")]
    found = []
    skeletons = key_skeletons(movement)
    for wanted in movement.angles:
        angle = measure(skeletons[wanted.pose], wanted.measure)
        if abs(angle - wanted.degrees) > wanted.within:
            words = (
                f"{wanted.measure} in {wanted.pose} is {angle:.0f} degrees; "
                f"allowed: {wanted.degrees:g} within {wanted.within:g}"
            )
            plain = (
                f"{in_words(wanted.measure)} in the pose “{wanted.pose}” is at {angle:.0f}°; "
                f"in the figure as it was drawn it is at {wanted.degrees:g}°, "
                f"{wanted.within:g}° more or less"
            )
            found.append(FigureFault("key angle", 0.0, words, plain))
    return found


def speeds(played: Sequence[Skeleton]) -> list[FigureFault]:
    """No segment turns faster than a body's can, the seam of the loop included."""
    found = []
    step = 1 / FRAMES_PER_SECOND
    for before, after in zip(played, [*played[1:], played[0]], strict=True):
        for start, end, _ in _segments():
            turned = angle_between(
                minus(before.points[end], before.points[start]),
                minus(after.points[end], after.points[start]),
            )
            if turned / step > FASTEST:
                words = (
                    f"{start} to {end} turns at {turned / step:.0f} degrees a second; "
                    f"allowed: {FASTEST:g}"
                )
                plain = f"{the(end)} moves faster than a body can"
                found.append(FigureFault("speed", before.seconds, words, plain))
    return _first_of_each(found)


def _first_of_each(found: list[FigureFault]) -> list[FigureFault]:
    """One finding for each thing measured, where it first goes wrong."""
    seen: dict[str, FigureFault] = {}
    for finding in found:
        seen.setdefault(re.sub(r"-?[\d.]+", "#", finding.words), finding)
    return list(seen.values())
