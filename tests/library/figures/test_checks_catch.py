"""Every check on a figure is shown to fail on a figure that is wrong in just that way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from library.figures import checks
from library.figures.motion import Timed, frames
from library.figures.movement import KeyAngle, Movement, load
from library.figures.pose import compose
from library.figures.props import Prop
from library.figures.skeleton import Contact, Skeleton
from library.figures.vectors import plus


@pytest.fixture
def squat() -> Movement:
    return load("free-squat")


@pytest.fixture
def played(squat: Movement) -> list[Skeleton]:
    return frames(squat)


def moved(skeleton: Skeleton, landmark: str, by: tuple[float, float, float]) -> Skeleton:
    at = plus(skeleton.points[landmark], by)
    return replace(skeleton, points={**skeleton.points, landmark: at})


def all_moved(skeleton: Skeleton, by: tuple[float, float, float]) -> Skeleton:
    return replace(skeleton, points={name: plus(at, by) for name, at in skeleton.points.items()})


def test_a_sound_figure_has_no_findings(squat: Movement) -> None:
    assert checks.findings(squat) == []


def test_a_stretched_shank_is_found(played: list[Skeleton]) -> None:
    broken = [moved(played[0], "near.ankle", (0, -0.5, 0)), *played[1:]]
    assert [f.check for f in checks.segment_lengths(broken)] == ["segment length"]
    assert "near.knee to near.ankle is 24.8" in checks.segment_lengths(broken)[0].words
    assert checks.segment_lengths(played) == []


@pytest.mark.parametrize(
    ("joint", "angle"),
    [("near.leg.knee", -20), ("far.arm.elbow", 170), ("neck", 80), ("near.leg.ankle", 60)],
)
def test_a_joint_past_its_range_is_found(played: list[Skeleton], joint: str, angle: float) -> None:
    skeleton = replace(played[0], angles={**played[0].angles, joint: angle})
    found = checks.joint_ranges([skeleton])
    assert [f.words.split()[0] for f in found] == [joint]


def test_a_knee_bent_backwards_over_a_held_foot_is_found(squat: Movement) -> None:
    start = squat.poses["start"]
    channels = {**start.channels, "y": 42.0}
    forwards = compose(channels, start.holds, "")
    backwards = compose({**channels, "near.leg@swing": 180.0}, start.holds, "")
    assert backwards.points["near.knee"][0] < backwards.points["near.ankle"][0] - 5
    assert checks.joint_ranges([forwards]) == []
    assert any("near.leg.turn" in f.words for f in checks.joint_ranges([backwards]))


def test_a_foot_in_the_floor_is_found(played: list[Skeleton]) -> None:
    sunk = [all_moved(skeleton, (0, -1.5, 0)) for skeleton in played]
    assert {f.check for f in checks.depths(sunk, [])} == {"depth"}
    assert checks.depths([all_moved(s, (0, -0.9, 0)) for s in played], []) == []


def test_a_body_inside_a_seat_is_found(played: list[Skeleton]) -> None:
    seat = Prop("seat", x=(-40, -5), y=(0, 40))
    assert any("inside the seat" in f.words for f in checks.depths(played, [seat]))
    assert checks.depths(played, [Prop("seat", x=(-60, -30), y=(0, 26))]) == []


def test_a_floating_figure_is_found(played: list[Skeleton]) -> None:
    assert checks.floating([all_moved(played[0], (0, 3, 0))], [])
    in_the_air = replace(all_moved(played[0], (0, 3, 0)), phase="flight")
    assert checks.floating([in_the_air], []) == []


def test_a_sliding_foot_is_found(played: list[Skeleton]) -> None:
    sliding = [
        all_moved(skeleton, (number * 0.2, 0, 0)) for number, skeleton in enumerate(played[:20])
    ]
    held = [
        replace(s, contacts=tuple(replace(c, at=s.points[c.landmark]) for c in s.contacts))
        for s in sliding
    ]
    assert any("slid" in f.words for f in checks.contacts(held))


def test_a_hand_that_misses_its_hold_is_found(played: list[Skeleton]) -> None:
    grip = played[0].points["near.grip"]
    missed = Contact("near.grip", plus(grip, (1.2, 0, 0)), steady=False)
    kept = Contact("near.grip", plus(grip, (0.8, 0, 0)), steady=False)
    assert checks.contacts([replace(played[0], contacts=(missed,))])
    assert checks.contacts([replace(played[0], contacts=(kept,))]) == []


def test_a_figure_about_to_topple_is_found(squat: Movement, played: list[Skeleton]) -> None:
    feet = [f"{s}.{p}" for s in ("near", "far") for p in ("heel", "ball", "toe", "ankle")]
    toppling = played[60]
    for name in set(toppling.points) - set(feet):
        toppling = moved(toppling, name, (-12, 0, 0))
    phases = [Timed("lowering", 0, 3)]
    assert checks.balance([toppling], phases, squat)
    assert checks.balance([played[60]], phases, squat) == []
    assert checks.balance([toppling], [Timed("bout", 0, 3)], squat) == []


def test_a_landing_that_ends_off_balance_is_found(squat: Movement, played: list[Skeleton]) -> None:
    leaning = replace(played[-1], seconds=2.98)
    for name in ("head", "neck", "chest", "waist", "pelvis"):
        leaning = moved(leaning, name, (25, 0, 0))
    assert checks.balance([leaning], [Timed("landing", 0, 3)], squat)
    early = replace(leaning, seconds=1.0)
    assert checks.balance([early], [Timed("landing", 0, 3)], squat) == []


def test_a_shallow_squat_misses_its_key_angle(squat: Movement) -> None:
    wrong = replace(squat, angles=(KeyAngle("bottom", "near.knee", 20, 5),))
    assert "near.knee in bottom is 108 degrees" in checks.key_angles(wrong)[0].words
    assert checks.key_angles(replace(squat, angles=()))


def test_a_jump_between_frames_is_found(played: list[Skeleton]) -> None:
    assert checks.speeds([played[0], played[80]])
    assert checks.speeds(played) == []
