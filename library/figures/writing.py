"""A movement written as a file's text again, every pose by itself, for a coach to change."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from library.figures.movement import KEYS, Movement
from library.figures.pose import FOOT, PALMS, Pose
from library.figures.posing import ARM_RANGES, FOOT_EXTRAS, HAND_EXTRAS, LEG_RANGES
from library.figures.skeleton import SIDES, TRUNK_ANGLES

type Table = dict[str, Any]

LIMBS = tuple(f"{side}_{limb}" for limb in ("arm", "leg") for side in SIDES)
TABLES = ("pose", "phase", "angle", "prop")
BARE = re.compile(r"[A-Za-z0-9_-]+")


def tables_of(movement: Movement) -> Table:
    """What the movement's file says, with each pose as a table that rests on no other."""
    poses = {name: pose_table(pose) for name, pose in movement.poses.items()}
    return tomllib.loads(movement.text) | {"pose": poses}


def pose_table(pose: Pose) -> Table:
    """The table that `read_pose` reads as this pose."""
    channels = pose.channels
    table: Table = {name: round(channels[name], 1) for name in TRUNK_ANGLES if channels[name]}
    if pose.anchor:
        table["anchor"] = pose.anchor
        if not pose.anchor.endswith(".foot"):
            axes = "xyz" if channels["anchor@all"] else "xy"
            table["at"] = [round(channels[f"anchor@{axis}"], 2) for axis in axes]
    else:
        table["hips"] = [round(channels[axis], 2) for axis in "xyz"]
    return table | {limb: limb_table(pose, limb) for limb in LIMBS}


def limb_table(pose: Pose, limb: str) -> Table:
    """A limb ("near_leg") as it is held, or by its angles where it is free."""
    name = limb.replace("_", ".")
    held, table = pose.holds.get(name, ""), {}
    if not held or carries(pose, limb):
        table = joint_angles(pose, limb)
    if held.startswith("on "):
        table["on"] = held[3:]
    elif held == FOOT or held in PALMS:
        place = [round(pose.channels[f"{name}@{axis}"], 2) for axis in "xyz"]
        table |= {"foot": place} if held == FOOT else {"hand": place, "palm": held}
    extras = FOOT_EXTRAS if limb.endswith("leg") else HAND_EXTRAS
    said = {extra: round(pose.channels.get(f"{name}@{extra}", 0.0), 1) for extra in extras}
    return table | {extra: number for extra, number in said.items() if held and number}


def carries(pose: Pose, limb: str) -> bool:
    """Whether the hips follow from this limb's angles."""
    side, _, part = pose.anchor.partition(".")
    own = "arm" if part in ("elbow", "wrist") else "leg"
    return limb == f"{side}_{own}"


def joint_angles(pose: Pose, limb: str) -> Table:
    """The angles of a limb's joints in degrees, as far as a file may say them."""
    ranges = ARM_RANGES if limb.endswith("arm") else LEG_RANGES
    name = limb.replace("_", ".")
    return {
        joint: round(min(max(pose.channels[f"{name}.{joint}"], low), high), 1)
        for joint, (low, high) in ranges.items()
    }


def toml(data: Mapping[str, Any]) -> str:
    """The tables of a movement as a file's text, in a file's order."""
    lines = [f"{key} = {_value(data[key])}" for key in KEYS if key in data and key not in TABLES]
    for name, pose in data["pose"].items():
        lines += ["", f"[pose.{_key(name)}]", *_lines(pose)]
    for kind in TABLES[1:]:
        for table in data.get(kind, []):
            lines += ["", f"[[{kind}]]", *_lines(table)]
    return "\n".join(lines) + "\n"


def _lines(table: Mapping[str, Any]) -> Iterator[str]:
    first = [key for key in ("name", "seconds") if key in table]
    for key in (*first, *(key for key in table if key not in first)):
        yield f"{_key(key)} = {_value(table[key])}"


def _key(name: str) -> str:
    return name if BARE.fullmatch(name) else _value(name)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(value[key])}" for key in value) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_value(each) for each in value) + "]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
