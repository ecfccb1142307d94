"""Reading a pose from a table of a movement file, on top of a named base pose."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from library.figures import body
from library.figures.pose import BODY_PLACES, FOOT, PALMS, Pose, compose, residual
from library.figures.skeleton import ARM_ANGLES, LEG_ANGLES, SIDES, TRUNK_ANGLES
from library.figures.source import Place, Source

BASES = Path(__file__).with_name("poses.toml")

TRUNK_RANGES = {
    "lean": (-210, 210),
    "roll": (-120, 120),
    "turn": (-180, 180),
    "bend": body.RANGES["bend"],
    "side": body.RANGES["side"],
    "twist": body.RANGES["twist"],
    "neck": body.RANGES["neck"],
    "tilt": (-40, 40),
}
ARM_RANGES = {
    "flex": body.RANGES["shoulder"],
    "out": body.RANGES["shoulder_out"],
    "turn": (-90, 90),
    "elbow": body.RANGES["elbow"],
    "wrist": body.RANGES["wrist"],
}
LEG_RANGES = {
    "hip": body.RANGES["hip"],
    "out": body.RANGES["hip_out"],
    "turn": (-60, 60),
    "knee": body.RANGES["knee"],
    "ankle": body.RANGES["ankle"],
    "toes": body.RANGES["toes"],
}
HAND_EXTRAS = {"swing": (-120, 120), "facing": (-180, 180), "lift": (0, 60)}
FOOT_EXTRAS = {
    "swing": (-60, 60),
    "facing": (-180, 180),
    "heel_up": (-60, 175),
    "lift": (0, 60),
    "edge": (0, 1),
    "curl": (0, 45),
}
POSE_KEYS = {
    "base", "hips", "anchor", "at", "shoulders", "arms", "near_arm", "far_arm", "legs", "near_leg",
    "far_leg",
    *TRUNK_ANGLES,
}  # fmt: skip
ANCHORS = [
    "near.foot", "far.foot", "near.knee", "far.knee", "near.ball", "far.ball", "near.toe",
    "far.toe", "near.ankle", "far.ankle", "near.heel", "far.heel", "near.elbow", "far.elbow",
    "near.wrist", "far.wrist", "pelvis", "waist", "chest", "neck", "head",
]  # fmt: skip
OUT_OF_REACH = 1.0


def _upright() -> Pose:
    channels = dict.fromkeys(TRUNK_ANGLES, 0.0)
    channels |= {"x": 0.0, "y": body.THIGH + body.SHANK + body.ANKLE_HEIGHT, "z": 0.0}
    for side in SIDES:
        channels |= {f"{side}.arm.{name}": 0.0 for name in ARM_ANGLES}
        channels |= {f"{side}.leg.{name}": 0.0 for name in LEG_ANGLES}
    return Pose(channels)


@cache
def base_poses() -> Mapping[str, Pose]:
    source = Source.read(BASES)
    poses: dict[str, Pose] = {"upright": _upright()}
    for name, table in source.data.items():
        poses[name] = read_pose(source, (name,), table, poses)
    return poses


def read_pose(
    source: Source, place: Place, value: object, known: Mapping[str, Pose] | None = None
) -> Pose:
    """The pose a table describes.

    `known` are the poses it may be based on: the base poses, and those written above it in the same
    file. Raises MovementError for an unknown key, an angle out of range, a contact out of reach.
    """
    known = base_poses() if known is None else known
    table = source.table(place, value, POSE_KEYS)
    base = source.choice((*place, "base"), table.get("base", "upright"), known)
    channels, holds = dict(known[base].channels), dict(known[base].holds)
    for name in TRUNK_ANGLES:
        if name in table:
            channels[name] = source.number((*place, name), table[name], *TRUNK_RANGES[name])
    _read_limbs(source, place, table, "leg", channels, holds)
    anchor = _read_place(source, place, table, channels, known[base].anchor)
    if anchor.endswith(".foot") and holds.get(anchor.replace("foot", "leg")) != FOOT:
        raise source.error((*place, "anchor"), f"anchor {anchor} needs that leg to have a foot=")
    if "shoulders" in table:
        height = source.number((*place, "shoulders"), table["shoulders"], 2, 120)
        channels["lean"] = _lean_for_shoulders(source, place, channels, holds, anchor, height)
    _note_shoulders(channels, holds, anchor)
    _read_limbs(source, place, table, "arm", channels, holds)
    return _within_reach(source, place, Pose(channels, holds, anchor))


def _read_limbs(
    source: Source,
    place: Place,
    table: Mapping[str, Any],
    limb: str,
    channels: dict[str, float],
    holds: dict[str, str],
) -> None:
    for side in SIDES:
        for key, paired in ((f"{limb}s", True), (f"{side}_{limb}", False)):
            if key in table:
                where, name = (*place, key), f"{side}.{limb}"
                _read_limb(source, where, table[key], name, paired, channels, holds)


def _lean_for_shoulders(
    source: Source,
    place: Place,
    channels: Mapping[str, float],
    holds: Mapping[str, str],
    anchor: str,
    height: float,
) -> float:
    """The lean, near the one given, that brings the shoulders to a height."""
    legs = {limb: kind for limb, kind in holds.items() if limb.endswith("leg")}

    def above(lean: float) -> float:
        points = compose({**channels, "lean": lean}, legs, anchor).points
        return points["neck"][1] - height

    given = channels["lean"]
    for low in sorted(range(-40, 40), key=abs):
        start, end = given + low, given + low + 1
        if above(start) * above(end) <= 0:
            return start + above(start) / ((above(start) - above(end)) or 1.0)
    reachable = sorted((above(given - 40) + height, above(given + 40) + height))
    raise source.error(
        (*place, "shoulders"),
        f"shoulders cannot be at {height:g}; allowed: {reachable[0]:.0f} to {reachable[1]:.0f}",
    )


def _note_shoulders(channels: dict[str, float], holds: Mapping[str, str], anchor: str) -> None:
    """Leave each shoulder's place, where `hand = "below"` finds it."""
    legs = {limb: kind for limb, kind in holds.items() if limb.endswith("leg")}
    points = compose(channels, legs, anchor).points
    for side in SIDES:
        for axis, number in zip("xyz", points[f"{side}.shoulder"], strict=True):
            channels[f"{side}.shoulder@{axis}"] = number


def _read_limb(
    source: Source,
    place: Place,
    value: object,
    limb: str,
    paired: bool,
    channels: dict[str, float],
    holds: dict[str, str],
) -> None:
    is_arm = limb.endswith("arm")
    ranges = ARM_RANGES if is_arm else LEG_RANGES
    extras = HAND_EXTRAS if is_arm else FOOT_EXTRAS
    point = "hand" if is_arm else "foot"
    allowed = {*ranges, *extras, point} | ({"palm", "on"} if is_arm else set())
    table = source.table(place, value, allowed)
    let_go = limb in holds and not any(key in table for key in (point, "on", *extras))
    for name in ranges:
        if name in table:
            channels[f"{limb}.{name}"] = source.number((*place, name), table[name], *ranges[name])
        elif let_go and any(name in table for name in ranges):
            channels[f"{limb}.{name}"] = 0.0
    if point in table or "on" in table:
        _clear_hold(limb, channels)
        for name in extras:
            channels[f"{limb}@{name}"] = 0.0
        holds[limb] = _read_hold(source, place, table, limb, paired, channels)
    elif any(name in table for name in ranges):
        _clear_hold(limb, channels)
        holds.pop(limb, None)
    for name in extras:
        if name in table:
            if limb not in holds:
                raise source.error((*place, name), f"{name} goes with {point}=")
            number = source.number((*place, name), table[name], *extras[name])
            mirrored = paired and name == "facing" and limb.startswith("far")
            channels[f"{limb}@{name}"] = -number if mirrored else number


def _clear_hold(limb: str, channels: dict[str, float]) -> None:
    for name in [name for name in channels if name.startswith(f"{limb}@")]:
        del channels[name]


def _read_hold(
    source: Source,
    place: Place,
    table: Mapping[str, Any],
    limb: str,
    paired: bool,
    channels: dict[str, float],
) -> str:
    if "on" in table:
        return "on " + source.choice((*place, "on"), table["on"], BODY_PLACES)
    is_arm, sign = limb.endswith("arm"), SIDES[limb.partition(".")[0]]
    point = "hand" if is_arm else "foot"
    at = _below(limb, channels, table[point]) if is_arm else None
    at = at or source.numbers((*place, point), table[point], (2, 3))
    width = body.SHOULDER_HALF_WIDTH if is_arm else body.HIP_HALF_WIDTH
    if len(at) == 2:
        at.append(sign * width)
    elif paired and not isinstance(table[point], str):
        at[2] *= sign
    channels |= {f"{limb}@{axis}": number for axis, number in zip("xyz", at, strict=True)}
    if not is_arm:
        return FOOT
    return source.choice((*place, "palm"), table.get("palm", "grip"), PALMS)


def _below(limb: str, channels: Mapping[str, float], value: object) -> list[float] | None:
    """The floor below the shoulder, or a forearm's length ahead of it."""
    side = limb.partition(".")[0]
    ahead = {"below": 0.0, "forearm": body.FOREARM}.get(value) if isinstance(value, str) else None
    if ahead is None:
        return None
    return [channels[f"{side}.shoulder@x"] + ahead, 0.0, channels[f"{side}.shoulder@z"]]


def _read_place(
    source: Source,
    place: Place,
    table: Mapping[str, Any],
    channels: dict[str, float],
    anchor: str,
) -> str:
    if "hips" in table:
        if "anchor" in table:
            raise source.error((*place, "hips"), "give hips or anchor, not both")
        at = source.numbers((*place, "hips"), table["hips"], (2, 3))
        channels |= dict(zip("xyz", [*at, 0.0][:3], strict=True))
        return ""
    if "anchor" in table:
        anchor = source.choice((*place, "anchor"), table["anchor"], ANCHORS)
        channels |= dict.fromkeys(("anchor@x", "anchor@y", "anchor@z", "anchor@all"), 0.0)
    if "at" in table:
        if not anchor or anchor.endswith(".foot"):
            raise source.error((*place, "at"), "at goes with an anchor that is not a foot")
        at = source.numbers((*place, "at"), table["at"], (2, 3))
        channels |= dict(zip(("anchor@x", "anchor@y", "anchor@z"), [*at, 0.0][:3], strict=True))
        channels["anchor@all"] = float(len(at) == 3)
    return anchor


def _within_reach(source: Source, place: Place, pose: Pose) -> Pose:
    skeleton = compose(pose.channels, pose.holds, pose.anchor)
    landmark, miss = residual(skeleton)
    if miss > OUT_OF_REACH:
        reason = f"{landmark} is {miss:.1f} short of where it is held; allowed: {OUT_OF_REACH:g}"
        raise source.error(
            (*place, *_limb_of(landmark)), f"{reason}. Move the contact, the hips or the lean"
        )
    channels = {name: n for name, n in pose.channels.items() if ".shoulder@" not in name}
    return Pose(channels, pose.holds, pose.anchor).resolved()


def _limb_of(landmark: str) -> Place:
    """The key of the limb that a landmark belongs to; none for the trunk's."""
    side, _, part = landmark.partition(".")
    if not part:
        return ()
    return (f"{side}_{'arm' if part in ('wrist', 'grip', 'elbow', 'fingers') else 'leg'}",)
