"""Every figure in the library is right by measurement, at its own tempo and at a quick one."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from library.figures import body, checks, movement
from library.figures.measures import measure
from library.figures.motion import Timeline, frames, key_skeletons
from library.figures.support import TOUCH
from library.tempo import Tempo

TIMED = [slug for slug in movement.slugs() if movement.load(slug).tempo]


@pytest.mark.parametrize(
    ("slug", "tempo"),
    [*((slug, None) for slug in movement.slugs()), *((slug, "2-0-1-0") for slug in TIMED)],
)
def test_figure_is_right_by_measurement(slug: str, tempo: str | None) -> None:
    found = checks.findings(movement.load(slug), tempo)
    assert found == [], "\n".join(str(finding) for finding in found)


@pytest.mark.parametrize("slug", TIMED)
def test_a_loop_is_a_whole_number_of_repetitions(slug: str) -> None:
    """So that the figure stays within 100 ms of the spoken tempo, repetition after repetition."""
    described = movement.load(slug)
    repetition = Tempo.parse(described.tempo).seconds()
    loop = Timeline(described).seconds
    assert abs(loop - round(loop / repetition) * repetition) < 0.1
    assert loop > repetition / 2


@pytest.mark.parametrize("slug", ["arm-slide", "wall-toe-lift"])
def test_who_leans_on_a_wall_keeps_head_shoulders_and_seat_on_it(slug: str) -> None:
    described = movement.load(slug)
    (wall,) = described.props
    for skeleton in frames(described):
        for name in ("head", "chest", "pelvis"):
            assert wall.depth_of(skeleton.points[name], body.RADIUS[name] + TOUCH) > 0, name


STARTER = Path(__file__).resolve().parents[3] / "library" / "starter"
EXERCISES = [
    exercise["slug"]
    for file in sorted(STARTER.glob("*.toml"))
    for exercise in tomllib.loads(file.read_text()).get("exercise", [])
]


def test_every_exercise_of_the_starter_library_is_drawn_and_nothing_else_is() -> None:
    assert sorted(EXERCISES) == movement.slugs()


# What makes an exercise that exercise (common practice), whatever its own file says of it.
@pytest.mark.parametrize(
    ("slug", "pose", "measured", "degrees", "within"),
    [
        ("bear-hold", "hold", "near.hip", 90, 5),
        ("bear-hold", "hold", "near.knee", 90, 5),
        ("split-squat", "bottom", "near.knee", 90, 5),
        ("split-squat", "bottom", "far.knee", 90, 5),
        ("plank", "hold", "near.straight", 0, 8),
        ("long-plank", "hold", "near.straight", 0, 8),
        ("side-plank", "hold", "far.straight", 0, 8),
        ("glute-bridge", "top", "near.hip", 0, 12),
        ("arm-slide", "start", "near.elbow", 90, 5),
    ],
)
def test_what_makes_the_exercise_holds(
    slug: str, pose: str, measured: str, degrees: float, within: float
) -> None:
    skeleton = key_skeletons(movement.load(slug))[pose]
    assert measure(skeleton, measured) == pytest.approx(degrees, abs=within)
