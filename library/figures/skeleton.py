"""From joint angles to a skeleton, and from a fixed hand or foot back to joint angles."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import acos, asin, atan2, cos, degrees, hypot, sin

from library.figures import body
from library.figures.vectors import (
    Frame,
    Vector,
    along,
    cross,
    distance,
    dot,
    minus,
    plus,
    times,
    unit,
)

SIDES = {"near": 1.0, "far": -1.0}
TRUNK_ANGLES = ("lean", "roll", "turn", "bend", "side", "twist", "neck", "tilt")
ARM_ANGLES = ("flex", "out", "turn", "elbow", "wrist")
UPRIGHT_FOOT = 90.0
LEG_ANGLES = ("hip", "out", "turn", "knee", "ankle", "toes")

type Angles = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Contact:
    """A point of the body that is declared to rest on something."""

    landmark: str
    at: Vector
    steady: bool  # it must not move until the next key pose


@dataclass(frozen=True, slots=True)
class Skeleton:
    """One instant of a figure.

    `points` are landmarks ("near.knee", "head") in world units, `angles` the joint angles in
    degrees ("near.knee", "lean"), `contacts` what is declared to rest, `phase` its name.
    """

    points: dict[str, Vector]
    angles: dict[str, float]
    contacts: tuple[Contact, ...] = ()
    phase: str = ""
    seconds: float = 0.0
    frames: dict[str, Frame] = field(default_factory=dict)

    def centre_of_mass(self) -> Vector:
        total: Vector = (0.0, 0.0, 0.0)
        for (start, end), segment in SEGMENTS.items():
            mass, share = body.MASSES[segment]
            at = plus(self.points[start], times(minus(self.points[end], self.points[start]), share))
            total = plus(total, times(at, mass))
        return total


def _segments() -> dict[tuple[str, str], str]:
    segments = {
        ("head", "head"): "head",
        ("chest", "neck"): "chest",
        ("waist", "chest"): "waist",
        ("pelvis", "waist"): "pelvis",
    }
    for side in SIDES:
        for name, start, end in (
            ("upper_arm", "shoulder", "elbow"),
            ("forearm", "elbow", "wrist"),
            ("hand", "wrist", "fingers"),
            ("thigh", "hip", "knee"),
            ("shank", "knee", "ankle"),
            ("foot", "heel", "toe"),
        ):
            segments[f"{side}.{start}", f"{side}.{end}"] = name
    return segments


SEGMENTS = _segments()


def trunk(angles: Angles, pelvis: Vector) -> tuple[dict[str, Vector], dict[str, Frame]]:
    """Pelvis to head, with the joints the limbs hang from."""
    hips = Frame().turn(angles["turn"]).roll(angles["roll"]).lean(angles["lean"])
    half = hips.lean(angles["bend"] / 2).roll(angles["side"] / 2).turn(angles["twist"] / 2)
    ribs = half.lean(angles["bend"] / 2).roll(angles["side"] / 2).turn(angles["twist"] / 2)
    skull = ribs.lean(angles["neck"]).roll(angles["tilt"])
    points = {"pelvis": pelvis}
    points["waist"] = along(pelvis, hips.up, body.PELVIS)
    points["chest"] = along(points["waist"], half.up, body.WAIST)
    points["neck"] = along(points["chest"], ribs.up, body.CHEST)
    points["head"] = along(points["neck"], skull.up, body.NECK_TO_HEAD)
    for name, sign in SIDES.items():
        points[f"{name}.hip"] = along(pelvis, hips.left, sign * body.HIP_HALF_WIDTH)
        shoulder = along(points["neck"], ribs.left, sign * body.SHOULDER_HALF_WIDTH)
        points[f"{name}.shoulder"] = along(shoulder, ribs.up, -1.5)
    return points, {"hips": hips, "ribs": ribs, "skull": skull}


def arm(side: str, angles: Angles, shoulder: Vector, ribs: Frame) -> dict[str, Vector]:
    sign = SIDES[side]
    upper = ribs.lean(-angles["flex"]).roll(-sign * angles["out"]).turn(sign * angles["turn"])
    fore = upper.lean(-angles["elbow"])
    hand = fore.lean(-angles["wrist"])
    elbow = along(shoulder, upper.up, -body.UPPER_ARM)
    wrist = along(elbow, fore.up, -body.FOREARM)
    return {
        f"{side}.elbow": elbow,
        f"{side}.wrist": wrist,
        f"{side}.grip": along(wrist, hand.up, -body.GRIP),
        f"{side}.fingers": along(wrist, hand.up, -body.HAND),
    }


def leg(side: str, angles: Angles, hip: Vector, hips: Frame) -> tuple[dict[str, Vector], Frame]:
    """The leg's landmarks, and which way the shank faces."""
    sign = SIDES[side]
    thigh = hips.lean(-angles["hip"]).roll(-sign * angles["out"]).turn(sign * angles["turn"])
    shank = thigh.lean(angles["knee"])
    sole = shank.lean(-angles["ankle"])
    knee = along(hip, thigh.up, -body.THIGH)
    ankle = along(knee, shank.up, -body.SHANK)
    below = along(ankle, sole.up, -body.ANKLE_TO_SOLE_LINE)
    ball = along(below, sole.ahead, body.BALL)
    points = {
        f"{side}.knee": knee,
        f"{side}.ankle": ankle,
        f"{side}.heel": along(below, sole.ahead, body.HEEL),
        f"{side}.ball": ball,
        f"{side}.toe": along(ball, sole.lean(-angles["toes"]).ahead, body.TOE - body.BALL),
    }
    return points, shank


def reach(
    start: Vector,
    end: Vector,
    lengths: tuple[float, float],
    base: Frame,
    sign: float,
    swing: float,
    bends: float,
) -> tuple[float, float, float, float]:
    """Two-bone inverse kinematics: flexion, out, turn and middle-joint angle.

    `lengths` are the two bones; `swing` turns the middle joint about the line from start to end
    (positive outwards); `bends` is +1 for a knee, -1 for an elbow. A target out of reach is met as
    nearly as a straight limb can.
    """
    first, second = lengths
    reach_to = min(max(distance(start, end), abs(first - second) + 1e-6), first + second - 1e-6)
    line = unit(minus(end, start))
    flex, out = _flex_out(base.inside(line), sign)
    hinge = base.lean(-flex).roll(-sign * out).turn(sign * swing).left
    cosine = (first**2 + reach_to**2 - second**2) / (2 * first * reach_to)
    lift = acos(max(-1.0, min(1.0, cosine)))
    sideways = times(cross(hinge, line), bends)
    bone = plus(times(line, cos(lift)), times(sideways, sin(lift)))
    flex, out = _flex_out(base.inside(bone), sign)
    plain = base.lean(-flex).roll(-sign * out)
    turned = sign * degrees(atan2(-dot(hinge, plain.ahead), dot(hinge, plain.left)))
    cosine = (first**2 + second**2 - reach_to**2) / (2 * first * second)
    return flex, out, turned, 180 - degrees(acos(max(-1.0, min(1.0, cosine))))


def _flex_out(direction: Vector, sign: float) -> tuple[float, float]:
    ahead, up, left = direction
    out = degrees(asin(max(-1.0, min(1.0, sign * left))))
    return (degrees(atan2(ahead, -up)) if hypot(ahead, up) > 1e-9 else 0.0), out


def ankle_of_foot(at: Vector, heel_up: float, facing: float, edge: bool = False) -> Vector:
    """Where the ankle is for a foot on a surface.

    `at` is the point of the surface below the ankle of the flat foot; `heel_up` turns the foot
    about its heel when negative, about its ball when positive and, past upright, about its toes;
    `facing` is its heading. On an `edge` it always turns about the ball, so the heel may sink.
    """
    level = Frame().turn(facing)
    pivot = {"heel": body.HEEL, "ball": body.BALL, "toe": body.TOE}[foot_pivot(heel_up, edge)]
    turned = level.lean(heel_up)
    centre = along(plus(at, (0.0, body.FOOT_RADIUS, 0.0)), level.ahead, pivot)
    return along(along(centre, turned.ahead, -pivot), turned.up, body.ANKLE_TO_SOLE_LINE)


def foot_pivot(heel_up: float, edge: bool = False) -> str:
    """The landmark of a held foot that stays where it is."""
    if edge:
        return "ball"
    if heel_up > UPRIGHT_FOOT:
        return "toe"
    return "ball" if heel_up >= 0 else "heel"


def sole_angle(shank: Frame, heel_up: float, facing: float) -> float:
    """The ankle angle that lays the foot as `ankle_of_foot` assumes."""
    ahead = Frame().turn(facing).lean(heel_up).ahead
    inside = shank.inside(ahead)
    return degrees(atan2(inside[1], inside[0]))
