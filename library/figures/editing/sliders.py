"""What of a figure's key poses can be changed by hand: a slider for each joint, with its limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil, floor

from library.figures.movement import Movement
from library.figures.names import SIDE_WORDS
from library.figures.pose import Pose
from library.figures.posing import (
    ARM_RANGES,
    FOOT_EXTRAS,
    HAND_EXTRAS,
    LEG_RANGES,
    TRUNK_RANGES,
)
from library.figures.writing import LIMBS, carries, joint_angles, pose_table

type Path = tuple[str | int, ...]

# An angle, a place in hundredths of the figure's height, and a time.
DEGREES, SHARE, SECONDS = "°", " %", " s"
STEPS: Mapping[str, float] = {DEGREES: 1, SHARE: 0.5, SECONDS: 0.05}
TRUNK_LABELS = {
    "lean": "Leans forward",
    "bend": "Back rounds",
    "side": "Bends to its left",
    "twist": "Chest turns to its left",
    "roll": "Tips over to its left",
    "turn": "Whole body turns to its left",
    "neck": "Head nods",
    "tilt": "Head tilts to its left",
}
ARM_LABELS = {
    "flex": "Shoulder: arm forward and up",
    "out": "Shoulder: arm out to the side",
    "turn": "Shoulder: arm turns out",
    "elbow": "Elbow bends",
    "wrist": "Wrist bends",
}
LEG_LABELS = {
    "hip": "Hip bends",
    "out": "Hip: leg out to the side",
    "turn": "Hip: leg turns out",
    "knee": "Knee bends",
    "ankle": "Ankle: toes up",
    "toes": "Toes bend up",
}
PLACE_LABELS = ("How far ahead", "How high", "How far to its left")
PLACE_RANGES = ((-120, 120), (0, 130), (-60, 60))
HOLD_LABELS = {"heel_up": "Heel up", "facing": "Turned to its left", "swing": "{} swings out"}


@dataclass(frozen=True)
class Slider:
    """A number of a key pose or a phase: `path` leads to it in its table."""

    path: Path
    label: str
    low: float
    high: float
    value: float
    unit: str

    @property
    def step(self) -> float:
        return STEPS[self.unit]

    @property
    def shown(self) -> float:
        """The value at the step where the slider stands."""
        return round(round(self.value / self.step) * self.step, 2)


@dataclass(frozen=True)
class Group:
    """One part of the body. `held` says in words what holds it, "" where nothing does.

    A held limb has `holding` sliders for its place; its `joints` count once it is let go, or where
    `carries` says that the hips follow from them, and then it cannot be let go.
    """

    part: str
    title: str
    joints: tuple[Slider, ...]
    holding: tuple[Slider, ...] = ()
    held: str = ""
    carries: bool = False


def groups_of(pose: Pose) -> tuple[Group, ...]:
    trunk = [
        slider((name,), label, TRUNK_RANGES[name], pose.channels[name], DEGREES)
        for name, label in TRUNK_LABELS.items()
    ]
    place = () if pose.anchor else tuple(_places(("hips",), pose_table(pose)["hips"]))
    return (
        Group("trunk", "Trunk and head", tuple(trunk)),
        *([Group("hips", "Where the hips are", place)] if place else []),
        *(_limb(pose, limb) for limb in LIMBS),
    )


def used_poses(movement: Movement) -> list[str]:
    """The names of the key poses that the movement passes, in its file's order."""
    used = {movement.start}.union(*(phase.through for phase in movement.phases))
    return [name for name in movement.poses if name in used]


def _limb(pose: Pose, limb: str) -> Group:
    is_arm = limb.endswith("arm")
    labels, ranges = (ARM_LABELS, ARM_RANGES) if is_arm else (LEG_LABELS, LEG_RANGES)
    angles = joint_angles(pose, limb)
    joints = [
        slider((limb, joint), label, ranges[joint], angles[joint], DEGREES)
        for joint, label in labels.items()
    ]
    title = f"{SIDE_WORDS[limb.partition('_')[0]]} {limb.partition('_')[2]}".capitalize()
    held = pose.holds.get(limb.replace("_", "."), "")
    if not held:
        return Group(limb, title, tuple(joints))
    rests = "rests " + held.replace("_", " ") if held.startswith("on ") else "is held in its place"
    holding = tuple(_holding(pose, limb, is_arm))
    return Group(limb, title, tuple(joints), holding, rests, carries(pose, limb))


def _holding(pose: Pose, limb: str, is_arm: bool) -> Iterator[Slider]:
    table = pose_table(pose)[limb]
    point, ranges = ("hand", HAND_EXTRAS) if is_arm else ("foot", FOOT_EXTRAS)
    if point in table:
        yield from _places((limb, point), table[point])
    bends = "Elbow" if is_arm else "Knee"
    for extra, label in HOLD_LABELS.items():
        if extra in ranges and (point in table or extra == "swing"):
            number = table.get(extra, 0.0)
            yield slider((limb, extra), label.format(bends), ranges[extra], number, DEGREES)


def _places(path: Path, place: list[float]) -> Iterator[Slider]:
    for axis, number in enumerate(place):
        yield slider((*path, axis), PLACE_LABELS[axis], PLACE_RANGES[axis], number, SHARE)


def slider(path: Path, label: str, limits: tuple[float, float], value: float, unit: str) -> Slider:
    """A slider whose limits are widened to whole numbers that its value lies between."""
    value = round(value, 2)
    return Slider(
        path, label, min(limits[0], floor(value)), max(limits[1], ceil(value)), value, unit
    )
