"""A key pose or a part that a coach adds to a figure or takes out of it, asked for by a button."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from library.figures.editing import pieces
from library.figures.editing.sliders import used_poses
from library.figures.movement import Movement, read_own
from library.figures.names import in_words
from library.figures.source import MovementError

ASKED = re.compile(r"(copy|remove)-(pose|phase)-(\d{1,2})")
NOTHING = "Nothing was added or taken out."


@dataclass(frozen=True)
class Piece:
    """What was done to a figure, in words, and the pose or the phase to go on with."""

    movement: Movement
    said: str
    pose: int
    phase: int | None = None


def piece_of(asked: str, movement: Movement, names: Sequence[str], shown: int) -> Piece:
    """What a button asks for, done to a figure whose poses `names` are on the page.

    Raises ValidationError saying why it may not be done, or that the figure could not be drawn.
    """
    match = ASKED.fullmatch(asked)
    if match is None:
        raise ValidationError(NOTHING)
    how, what, number = match[1], match[2], int(match[3])
    if number >= len(names if what == "pose" else movement.phases):
        raise ValidationError(NOTHING)
    try:
        if what == "pose":
            return _pose(how, movement, names[number])
        return _phase(how, movement, number, shown)
    except MovementError as problem:
        raise ValidationError(f"{NOTHING} {in_words(problem.message)}") from problem


def _pose(how: str, movement: Movement, name: str) -> Piece:
    if name not in used_poses(movement):
        raise ValidationError(f"{NOTHING} No part passes “{name}” any more.")
    may = pieces.pose_may(movement, name)
    _refuse(may.no_copy if how == "copy" else may.no_removal)
    if how == "copy":
        text, copy = pieces.with_pose_copied(movement, name)
        said = f"“{copy}” is a copy of “{name}”, passed right after it. Now change it."
    else:
        text, copy = pieces.with_pose_taken_out(movement, name), movement.start
        said = f"“{name}” is taken out."
    after = read_own(movement.slug, text)
    return Piece(after, said, used_poses(after).index(copy))


def _phase(how: str, movement: Movement, number: int, shown: int) -> Piece:
    may = pieces.phase_may(movement, number)
    _refuse(may.no_copy if how == "copy" else may.no_removal)
    if how == "copy":
        after = read_own(movement.slug, pieces.with_phase_copied(movement, number))
        return Piece(after, f"Part {number + 2} is a copy of part {number + 1}.", shown, number + 1)
    after = read_own(movement.slug, pieces.with_phase_taken_out(movement, number))
    left = min(shown, len(used_poses(after)) - 1)
    return Piece(after, f"Part {number + 1} is taken out.", left, max(0, number - 1))


def _refuse(why: str) -> None:
    if why:
        raise ValidationError(why)
