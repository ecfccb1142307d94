"""Key poses and phases of a movement added, as copies of what is there already, and taken out.

A copied pose is passed right after the one it was copied from, on the way to the next; a copied
phase follows the one it was copied from. Neighbouring phases of one part of a tempo share its
seconds, so a figure stays in step with a spoken tempo.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from library.figures.editing.sliders import used_poses
from library.figures.movement import Movement
from library.figures.writing import Table, tables_of, toml

MOST_POSES = 12
MOST_PHASES = 16
LEAST_POSES = 2


@dataclass(frozen=True)
class May:
    """Why a pose or phase may not be copied or taken out, in plain words; "" where it may."""

    no_copy: str = ""
    no_removal: str = ""


def pose_may(movement: Movement, name: str) -> May:
    return May(_no_more_poses(movement), _why_pose_stays(movement, name))


def phase_may(movement: Movement, number: int) -> May:
    return May(_no_more_phases(movement, number), _why_phase_stays(movement, number))


def with_pose_copied(movement: Movement, name: str) -> tuple[str, str]:
    """The text with a copy of the pose, and the copy's name."""
    tables, copy = tables_of(movement), _free_name(movement, name)
    poses: Table = {}
    for each, pose in tables["pose"].items():
        poses[each] = pose
        if each == name:
            poses[copy] = pose
    tables["pose"] = poses
    number, place = _next_stop(movement, name)
    _pass(tables["phase"][number], place, copy)
    return toml(tables), copy


def with_pose_taken_out(movement: Movement, name: str) -> str:
    """The text without the pose; a phase that passed no other keeps still."""
    tables = tables_of(movement)
    del tables["pose"][name]
    tables["angle"] = [angle for angle in tables["angle"] if angle["pose"] != name]
    for phase in tables["phase"]:
        while name in (stops := _stops(phase)):
            _leave_out(phase, stops.index(name))
    return toml(tables)


def with_phase_copied(movement: Movement, number: int) -> str:
    """The text with a copy of the phase right after it."""
    tables = tables_of(movement)
    tables["phase"].insert(number + 1, dict(tables["phase"][number]))
    return toml(tables)


def with_phase_taken_out(movement: Movement, number: int) -> str:
    """The text without the phase. Its poses stay, for other phases to end in."""
    tables = tables_of(movement)
    del tables["phase"][number]
    return toml(tables)


def _no_more_poses(movement: Movement) -> str:
    if len(used_poses(movement)) < MOST_POSES:
        return ""
    return f"A figure has at most {MOST_POSES} key poses, and this one has as many."


def _why_pose_stays(movement: Movement, name: str) -> str:
    if name == movement.start:
        return "The figure begins and ends in this pose, so it stays."
    if len(used_poses(movement)) <= LEAST_POSES:
        return "A figure needs two key poses, so this one stays."
    if all(angle.pose == name for angle in movement.angles):
        return "The angle that makes this exercise what it is belongs to this pose, so it stays."
    return ""


def _no_more_phases(movement: Movement, number: int) -> str:
    if movement.phases[number].name == "flight":
        return "Who is in the air lands first: no second flight after it."
    if len(movement.phases) < MOST_PHASES:
        return ""
    return f"A figure has at most {MOST_PHASES} parts, and this one has as many."


def _why_phase_stays(movement: Movement, number: int) -> str:
    if number == max(n for n, phase in enumerate(movement.phases) if phase.through):
        return f"It brings the figure back to “{movement.start}”, so it stays."
    others = [phase for n, phase in enumerate(movement.phases) if n != number]
    passed = {movement.start}.union(*(phase.through for phase in others))
    if len(passed) < LEAST_POSES:
        return "Without it the figure would not move, so it stays."
    return ""


def _free_name(movement: Movement, name: str) -> str:
    """The name of a copy: “bottom 2” of “bottom”, “bottom 3” of either once that is there."""
    stem, number = re.sub(r" \d+$", "", name), 2
    while f"{stem} {number}" in movement.poses:
        number += 1
    return f"{stem} {number}"


def _next_stop(movement: Movement, name: str) -> tuple[int, int]:
    """Phase and place in it of the stop that follows the pose where it is first passed."""
    before = movement.start
    for number, phase in enumerate(movement.phases):
        for place, stop in enumerate(phase.through):
            if before == name:
                return number, place
            before = stop
    raise KeyError(name)


def _stops(phase: Mapping[str, object]) -> list[str]:
    to = phase.get("to", [])
    return [to] if isinstance(to, str) else [*to]  # type: ignore[misc]


def _pass(phase: Table, place: int, name: str) -> None:
    """Let a phase pass a pose before the stop at `place`, halfway there where shares are given."""
    stops = _stops(phase)
    phase["to"] = [*stops[:place], name, *stops[place:]]
    if shares := phase.get("shares"):
        before = shares[place - 1] if place else 0.0
        halfway = round((before + shares[place]) / 2, 4)
        phase["shares"] = [*shares[:place], halfway, *shares[place:]]


def _leave_out(phase: Table, place: int) -> None:
    """Let a phase no longer pass the stop at `place`; the one before its last becomes the last."""
    for key in ("to", "shares"):
        if key in phase:
            kept = _stops(phase) if key == "to" else [*phase[key]]
            del kept[place]
            phase[key] = kept
    if not phase["to"]:
        del phase["to"]
    if shares := phase.pop("shares", []):
        phase["shares"] = [*shares[:-1], 1]
