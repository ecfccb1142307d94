"""A movement changed by a coach: its words, the numbers of its key poses, its order and things."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from library.figures.editing.arranging import Arrangement, arrange
from library.figures.editing.sliders import Path
from library.figures.movement import Movement
from library.figures.writing import Table, joint_angles, tables_of, toml

AS_IT_IS = Arrangement()


def changed(
    movement: Movement,
    describe: str,
    numbers: Mapping[tuple[str, Path], float],
    let_go: Collection[tuple[str, str]],
    arrangement: Arrangement = AS_IT_IS,
) -> str:
    """The text of the movement with other words, numbers and another arrangement.

    `numbers` are by pose and path, `let_go` the limbs that are no longer held, by pose and limb.
    """
    tables = tables_of(movement) | {"describe": describe}
    for pose, limb in let_go:
        tables["pose"][pose][limb] = joint_angles(movement.poses[pose], limb)
    for (pose, path), number in numbers.items():
        _put(tables["pose"][pose], path, number)
    arrange(tables, arrangement)
    return toml(tables)


def _put(table: Table, path: Path, number: float) -> None:
    inside = table
    for key in path[:-1]:
        inside = inside[key]  # type: ignore[index]
    inside[path[-1]] = number  # type: ignore[index]
