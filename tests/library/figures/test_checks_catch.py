"""Every check on a figure is shown to fail on a figure that is wrong in just that way."""

from __future__ import annotations

from collections.abc import Callable
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


def test_a_loop_that_does_not_close_jumps_at_its_seam(played: list[Skeleton]) -> None:
    """Cut off at the bottom, it would be back on its feet within one frame."""
    assert [f.seconds for f in checks.speeds(played[:90])][:1] == [played[89].seconds]


def test_every_frame_is_looked_at_thirty_times_a_second(squat: Movement) -> None:
    """A squat at 3-1-1-0 lasts 5 s."""
    played = frames(squat)
    assert len(played) == 150
    assert [frame.seconds for frame in played[:4]] == pytest.approx([0, 1 / 30, 2 / 30, 0.1])


def posed(
    squat: Movement, pose: str = "bottom", *, holds: bool = True, **channels: float
) -> Movement:
    """A squat with other channels in a pose; `_` stands for a dot and `__` for an at."""
    bottom = squat.poses[pose]
    named = {name.replace("__", "@").replace("_", "."): value for name, value in channels.items()}
    other = replace(
        bottom,
        channels={**bottom.channels, **named},
        holds=bottom.holds if holds else {},
        anchor=bottom.anchor if holds else "",
    )
    return replace(squat, poses={**squat.poses, pose: other})


@pytest.mark.parametrize(
    ("check", "broken"),
    [
        ("joint range", lambda squat: posed(squat, neck=70.0)),
        ("depth", lambda squat: replace(squat, props=(Prop("box", (-40, -5), (0, 60)),))),
        ("floating", lambda squat: posed(squat, holds=False, y=80.0)),
        ("contact", lambda squat: posed(squat, far_leg__x=60.0)),
        ("balance", lambda squat: posed(squat, "start", x=14.0, y=48.0)),
        ("key angle", lambda squat: replace(squat, angles=(KeyAngle("bottom", "trunk", 0, 5),))),
        ("speed", lambda squat: posed(squat, twist=5000.0)),
    ],
)
def test_each_check_is_among_those_that_a_movement_goes_through(
    squat: Movement, check: str, broken: Callable[[Movement], Movement]
) -> None:
    assert check in {finding.check for finding in checks.findings(broken(squat))}
