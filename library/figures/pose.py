"""A pose: joint angles, and hands, feet or other points held where they are told.

A pose is resolved into channels (plain numbers by name) so that two poses can be blended number by
number; `compose` turns channels into a skeleton, meeting every held point anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from library.figures import body
from library.figures.skeleton import (
    ARM_ANGLES,
    LEG_ANGLES,
    SIDES,
    TRUNK_ANGLES,
    UPRIGHT_FOOT,
    Contact,
    Skeleton,
    ankle_of_foot,
    arm,
    foot_pivot,
    leg,
    reach,
    sole_angle,
    trunk,
)
from library.figures.vectors import (
    Frame,
    Vector,
    along,
    angle_between,
    distance,
    minus,
    plus,
    times,
)

# How a hand rests: flat with fingers ahead or back, flat on a wall, closed around something, or on
# the body itself ("on hips").
PALMS = ("down", "wall", "grip")
FOOT = "foot"

# Where a hand finds the body: landmark, then ahead, up and outwards from it in the named frame.
BODY_PLACES: Mapping[str, tuple[str, str, Vector]] = {
    "hips": ("pelvis", "hips", (1.0, 4.0, 7.5)),
    "ears": ("head", "skull", (-1.0, 0.0, 8.5)),
    "nape": ("head", "skull", (-6.0, -1.0, 4.0)),
    "chest": ("chest", "ribs", (11.5, 5.0, 1.5)),
    "hug": ("chest", "ribs", (12.0, 6.0, -3.0)),
    "handles": ("pelvis", "hips", (7.0, 7.0, 15.0)),
    "chin": ("neck", "ribs", (8.5, 3.0, 1.5)),
    "other_shoulder": ("neck", "ribs", (4.5, -1.0, -8.0)),
    "crease": ("pelvis", "hips", (4.0, -1.0, 5.0)),
    "belly": ("waist", "hips", (6.0, 0.0, 2.0)),
    "thigh": ("knee", "hips", (0.0, 0.0, 0.0)),
    "other_thigh": ("knee", "hips", (0.0, 0.0, 0.0)),
    "knee": ("knee", "hips", (0.0, 0.0, 0.0)),
    "shin": ("ankle", "hips", (0.0, 0.0, 0.0)),
    "foot": ("ball", "hips", (0.0, 0.0, 0.0)),
}
LIMB_PLACES = ("thigh", "other_thigh", "knee", "shin", "foot")

MIRRORED = ("roll", "turn", "side", "twist", "tilt")


@dataclass(frozen=True)
class Pose:
    """Channels by name, what each limb is held to, and the point the body is hung from.

    `holds` maps "near.leg" or "far.arm" to "foot", a palm or "on <place>"; `anchor` is a landmark
    ("near.foot", "pelvis") whose place is given, or "" when the hips' own place is.
    """

    channels: Mapping[str, float]
    holds: Mapping[str, str] = field(default_factory=dict)
    anchor: str = ""

    def mirrored(self) -> Pose:
        channels = {}
        for name, value in self.channels.items():
            sign = -1 if name in MIRRORED or name in ("z", "anchor@z") else 1
            if name.endswith(("arm@z", "leg@z", "@facing")):
                sign = -1
            channels[_other(name)] = sign * value
        holds = {_other(limb): kind for limb, kind in self.holds.items()}
        return replace(self, channels=channels, holds=holds, anchor=_other(self.anchor))

    def moved(self, x: float, z: float) -> Pose:
        """The same pose further along the floor."""
        channels = dict(self.channels)
        for name in channels:
            if name in ("x", "anchor@x") or name.endswith(("arm@x", "leg@x")):
                channels[name] += x
            elif name in ("z", "anchor@z") or name.endswith(("arm@z", "leg@z")):
                channels[name] += z
        return replace(self, channels=channels)

    def resolved(self) -> Pose:
        """With the angles and hip position that its held points imply."""
        skeleton = compose(self.channels, self.holds, self.anchor)
        channels = dict(self.channels) | solved_channels(skeleton)
        return replace(self, channels=channels)


def _other(name: str) -> str:
    if name.startswith("near."):
        return "far." + name[5:]
    if name.startswith("far."):
        return "near." + name[4:]
    return name


def solved_channels(skeleton: Skeleton) -> dict[str, float]:
    channels = {name: value for name, value in skeleton.angles.items() if "." in name}
    for side in SIDES:  # an arm a little past overhead reads as such, not as far behind
        if channels[f"{side}.arm.flex"] < -100:
            channels[f"{side}.arm.flex"] += 360
    channels |= dict(zip("xyz", skeleton.points["pelvis"], strict=True))
    return channels


def compose(channels: Mapping[str, float], holds: Mapping[str, str], anchor: str) -> Skeleton:
    """The skeleton of these channels, every held point met as nearly as the limbs reach."""
    trunk_angles = {name: channels[name] for name in TRUNK_ANGLES}
    pelvis = (channels["x"], channels["y"], channels["z"])
    if anchor:
        pelvis = _hung_from(anchor, channels, trunk_angles)
    points, frames = trunk(trunk_angles, pelvis)
    angles = dict(trunk_angles)
    contacts: list[Contact] = []
    for side in SIDES:
        _place_leg(side, channels, holds.get(f"{side}.leg", ""), points, frames, angles, contacts)
    for side in SIDES:
        _place_arm(side, channels, holds.get(f"{side}.arm", ""), points, frames, angles, contacts)
    if anchor and not anchor.endswith(".foot"):
        x, y, z = _anchor_target(anchor, channels)
        z = z if channels["anchor@all"] else points[anchor][2]
        contacts.append(Contact(anchor, (x, y, z), steady=False))
    return Skeleton(points, angles, tuple(contacts), frames=frames)


def _limb_angles(channels: Mapping[str, float], limb: str) -> dict[str, float]:
    names = ARM_ANGLES if limb.endswith("arm") else LEG_ANGLES
    return {name: channels[f"{limb}.{name}"] for name in names}


def _anchor_target(anchor: str, channels: Mapping[str, float]) -> Vector:
    radius = body.RADIUS[anchor.rpartition(".")[2]]
    return channels["anchor@x"], channels["anchor@y"] + radius, channels["anchor@z"]


def _hung_from(anchor: str, channels: Mapping[str, float], angles: Mapping[str, float]) -> Vector:
    """The pelvis position that brings the anchor to its place by joint angles alone."""
    points, frames = trunk(angles, (0.0, 0.0, 0.0))
    side, _, landmark = anchor.rpartition(".")
    if landmark == "foot":
        limb, _ = leg(
            side, _limb_angles(channels, f"{side}.leg"), points[f"{side}.hip"], frames["hips"]
        )
        return minus(_foot_target(channels, f"{side}.leg"), limb[f"{side}.ankle"])
    if side and anchor not in points:
        hip, shoulder = points[f"{side}.hip"], points[f"{side}.shoulder"]
        limb, _ = leg(side, _limb_angles(channels, f"{side}.leg"), hip, frames["hips"])
        points |= limb | arm(side, _limb_angles(channels, f"{side}.arm"), shoulder, frames["ribs"])
    target, found = _anchor_target(anchor, channels), points[anchor]
    across = target[2] - found[2] if channels["anchor@all"] else target[2]
    return target[0] - found[0], target[1] - found[1], across


def _foot_target(channels: Mapping[str, float], limb: str) -> Vector:
    at = (channels[f"{limb}@x"], channels[f"{limb}@y"], channels[f"{limb}@z"])
    heel_up, facing = channels[f"{limb}@heel_up"], channels[f"{limb}@facing"]
    return ankle_of_foot(at, heel_up, facing, edge=channels[f"{limb}@edge"] > 0)


def _place_leg(
    side: str,
    channels: Mapping[str, float],
    held: str,
    points: dict[str, Vector],
    frames: dict[str, Frame],
    angles: dict[str, float],
    contacts: list[Contact],
) -> None:
    limb, hip, sign = f"{side}.leg", points[f"{side}.hip"], SIDES[side]
    found = _limb_angles(channels, limb)
    if not held:
        placed, _ = leg(side, found, hip, frames["hips"])
    else:
        target = _foot_target(channels, limb)
        swing = channels[f"{limb}@swing"]
        lengths = (body.THIGH, body.SHANK)
        solved = reach(hip, target, lengths, frames["hips"], sign, swing, 1.0)
        found |= dict(zip(("hip", "out", "turn", "knee"), solved, strict=True))
        heel_up, facing = channels[f"{limb}@heel_up"], channels[f"{limb}@facing"]
        _, shank = leg(side, found, hip, frames["hips"])
        toes = _toe_bend(heel_up) - channels[f"{limb}@curl"]
        found |= {"ankle": sole_angle(shank, heel_up, facing), "toes": toes}
        placed, _ = leg(side, found, hip, frames["hips"])
        sole = _held_foot(side, placed[f"{side}.ankle"], heel_up, facing, toes)
        pivot = foot_pivot(heel_up, edge=channels[f"{limb}@edge"] > 0)
        wanted = _held_foot(side, target, heel_up, facing, toes)[f"{side}.{pivot}"]
        contacts.append(Contact(f"{side}.{pivot}", wanted, steady=False))
        placed |= sole
    points |= placed
    angles |= {f"{limb}.{name}": value for name, value in found.items()}


def _toe_bend(heel_up: float) -> float:
    """Toes stay flat on the surface until the foot lies on its laces."""
    return heel_up if 0 < heel_up <= UPRIGHT_FOOT else 0.0


def _held_foot(
    side: str, ankle: Vector, heel_up: float, facing: float, toes: float
) -> dict[str, Vector]:
    sole = Frame().turn(facing).lean(heel_up)
    below = along(ankle, sole.up, -body.ANKLE_TO_SOLE_LINE)
    ball = along(below, sole.ahead, body.BALL)
    return {
        f"{side}.heel": along(below, sole.ahead, body.HEEL),
        f"{side}.ball": ball,
        f"{side}.toe": along(ball, sole.lean(-toes).ahead, body.TOE - body.BALL),
    }


def _place_arm(
    side: str,
    channels: Mapping[str, float],
    held: str,
    points: dict[str, Vector],
    frames: dict[str, Frame],
    angles: dict[str, float],
    contacts: list[Contact],
) -> None:
    limb, shoulder, sign = f"{side}.arm", points[f"{side}.shoulder"], SIDES[side]
    found = _limb_angles(channels, limb)
    fingers: Vector | None = None
    if held:
        target, fingers, second = _hand_target(side, channels, held, points, frames)
        lengths = (body.UPPER_ARM, second)
        swing = channels[f"{limb}@swing"]
        solved = reach(shoulder, target, lengths, frames["ribs"], sign, swing, -1.0)
        found |= dict(zip(("flex", "out", "turn", "elbow"), solved, strict=True)) | {"wrist": 0.0}
    placed = arm(side, found, shoulder, frames["ribs"])
    if fingers is not None:
        wrist, elbow = placed[f"{side}.wrist"], placed[f"{side}.elbow"]
        placed[f"{side}.fingers"] = along(wrist, fingers, body.HAND)
        placed[f"{side}.grip"] = along(wrist, fingers, body.GRIP)
        found["wrist"] = angle_between(minus(wrist, elbow), fingers)
    if held in PALMS:
        landmark = f"{side}.grip" if held == "grip" else f"{side}.wrist"
        contacts.append(Contact(landmark, target, steady=False))
    points |= placed
    angles |= {f"{limb}.{name}": value for name, value in found.items()}


def _hand_target(
    side: str,
    channels: Mapping[str, float],
    held: str,
    points: Mapping[str, Vector],
    frames: Mapping[str, Frame],
) -> tuple[Vector, Vector | None, float]:
    """Where the hand goes, which way its fingers point if that is fixed, and the second bone."""
    limb = f"{side}.arm"
    if held.startswith("on "):
        return _on_body(side, held[3:], points, frames), None, body.FOREARM + body.GRIP
    at = (channels[f"{limb}@x"], channels[f"{limb}@y"], channels[f"{limb}@z"])
    if held == "grip":
        return at, None, body.FOREARM + body.GRIP
    heading = Frame().turn(channels[f"{limb}@facing"]).ahead
    if held == "wall":
        return minus(at, (body.RADIUS["wrist"], 0, 0)), (0.0, 1.0, 0.0), body.FOREARM
    return plus(at, (0.0, body.RADIUS["wrist"], 0.0)), heading, body.FOREARM


def _on_body(
    side: str, place: str, points: Mapping[str, Vector], frames: Mapping[str, Frame]
) -> Vector:
    landmark, frame_name, (ahead, up, out) = BODY_PLACES[place]
    if place not in LIMB_PLACES:
        frame = frames[frame_name]
        at = along(along(points[landmark], frame.ahead, ahead), frame.up, up)
        return along(at, frame.left, SIDES[side] * out)
    if place.startswith("other_"):
        side, place = _other(f"{side}.").rstrip("."), place.removeprefix("other_")
    if place == "thigh":
        hip, knee = points[f"{side}.hip"], points[f"{side}.knee"]
        at = plus(hip, times(minus(knee, hip), 0.6))
        return along(at, frames["hips"].ahead, 3.0)
    return points[f"{side}.{landmark}"]


def residual(skeleton: Skeleton) -> tuple[str, float]:
    """The declared contact that is missed by most, and by how much."""
    misses = [(distance(skeleton.points[c.landmark], c.at), c.landmark) for c in skeleton.contacts]
    miss, landmark = max(misses, default=(0.0, ""))
    return landmark, miss
