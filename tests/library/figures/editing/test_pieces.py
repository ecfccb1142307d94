"""Key poses and phases added to a movement as copies, and taken out of it."""

from __future__ import annotations

import pytest

from library.figures import drawing
from library.figures.editing.pieces import (
    MOST_PHASES,
    MOST_POSES,
    phase_may,
    pose_may,
    with_phase_copied,
    with_phase_taken_out,
    with_pose_copied,
    with_pose_taken_out,
)
from library.figures.editing.sliders import used_poses
from library.figures.motion import Timeline
from library.figures.movement import Movement, load, read_own, slugs
from library.tempo import Tempo


def pose_copied(movement: Movement, name: str) -> Movement:
    return read_own(movement.slug, with_pose_copied(movement, name)[0])


def phase_copied(movement: Movement, number: int) -> Movement:
    return read_own(movement.slug, with_phase_copied(movement, number))


def stops(movement: Movement) -> list[tuple[str, ...]]:
    return [phase.through for phase in movement.phases]


def test_a_copied_pose_is_passed_right_after_its_own_on_the_way_to_the_next() -> None:
    copied = pose_copied(load("free-squat"), "bottom")
    assert stops(load("free-squat")) == [("bottom",), (), ("start",)]
    assert stops(copied) == [("bottom",), (), ("bottom 2", "start")]
    assert [*copied.poses] == ["start", "bottom", "bottom 2"]
    assert copied.poses["bottom 2"] == copied.poses["bottom"]
    again = pose_copied(copied, "bottom 2")
    assert stops(again) == [("bottom",), (), ("bottom 2", "bottom 3", "start")]


def test_the_first_pose_is_copied_to_the_beginning() -> None:
    assert stops(pose_copied(load("free-squat"), "start"))[0] == ("start 2", "bottom")


def test_where_shares_are_given_a_copy_is_met_halfway() -> None:
    """A walking lunge: between the share of its own pose and that of the next."""
    start = load("walking-lunge")
    number, phase = next((n, p) for n, p in enumerate(start.phases) if len(set(p.shares)) > 1)
    copied = pose_copied(start, phase.through[0]).phases[number]
    assert copied.through == (phase.through[0], f"{phase.through[0]} 2", *phase.through[1:])
    first, second = phase.shares[:2]
    assert copied.shares == pytest.approx((first, (first + second) / 2, *phase.shares[1:]))


@pytest.mark.parametrize("slug", slugs())
def test_what_is_added_and_taken_out_again_leaves_the_figure_as_it_was(slug: str) -> None:
    start = load(slug)
    for name in used_poses(start):
        if not pose_may(start, name).no_copy:
            text, copy = with_pose_copied(start, name)
            back = read_own(slug, with_pose_taken_out(read_own(slug, text), copy))
            assert (stops(back), [*back.poses]) == (stops(start), [*start.poses])
            assert [p.shares for p in back.phases] == [p.shares for p in start.phases]
            assert back.angles == start.angles
    for number in range(len(start.phases)):
        if not phase_may(start, number).no_copy:
            copied = phase_copied(start, number)
            back = read_own(slug, with_phase_taken_out(copied, number + 1))
            assert back.phases == start.phases


@pytest.mark.parametrize("slug", slugs())
def test_whatever_may_be_added_or_taken_out_can_still_be_drawn_and_keeps_the_tempo(
    slug: str,
) -> None:
    start = load(slug)
    changed = []
    for name in used_poses(start):
        may = pose_may(start, name)
        changed += [] if may.no_copy else [with_pose_copied(start, name)[0]]
        changed += [] if may.no_removal else [with_pose_taken_out(start, name)]
    for number in range(len(start.phases)):
        part = phase_may(start, number)
        changed += [] if part.no_copy else [with_phase_copied(start, number)]
        changed += [] if part.no_removal else [with_phase_taken_out(start, number)]
    assert changed
    for text in changed:
        own = read_own(slug, text)
        timeline = Timeline(own)
        assert drawing.still_at(own, timeline.seconds / 2).startswith("<svg")
        if start.tempo and any(phase.part for phase in own.phases):
            loop, repetition = timeline.seconds, Tempo.parse(start.tempo).seconds()
            assert abs(loop - round(loop / repetition) * repetition) < 0.1


def test_two_parts_of_the_same_name_share_the_seconds_of_the_tempo() -> None:
    """A squat at 3-1-1-0 lowers in two parts of a second and a half."""
    start = load("free-squat")
    assert start.tempo == "3-1-1-0"
    timed = [(phase.name, phase.seconds) for phase in Timeline(phase_copied(start, 0)).phases]
    assert timed == [("lowering", 1.5), ("lowering", 1.5), ("pause", 1), ("lifting", 1)]


def test_what_makes_the_exercise_stays_and_says_why() -> None:
    squat, reach = load("free-squat"), load("star-reach")
    assert "begins and ends" in pose_may(squat, "start").no_removal
    assert "two key poses" in pose_may(squat, "bottom").no_removal
    assert "The angle that makes this exercise" in pose_may(reach, "side").no_removal
    assert pose_may(reach, "front").no_removal == ""
    assert "brings the figure back to “start”" in phase_may(squat, 2).no_removal
    assert "would not move" in phase_may(squat, 0).no_removal
    assert phase_may(reach, 0).no_removal == ""


def test_a_phase_that_passed_no_other_pose_keeps_still() -> None:
    reach = load("star-reach")
    assert stops(read_own("star-reach", with_pose_taken_out(reach, "front")))[0] == ()


def test_no_second_flight_follows_the_first() -> None:
    jump = load("small-jump")
    number = [phase.name for phase in jump.phases].index("flight")
    assert "lands first" in phase_may(jump, number).no_copy
    assert phase_may(jump, number + 1).no_copy == ""


def test_a_figure_has_so_many_poses_and_parts_and_no_more() -> None:
    full = load("free-squat")
    while not pose_may(full, "bottom").no_copy:
        full = pose_copied(full, "bottom")
    assert len(used_poses(full)) == MOST_POSES == 12
    assert "at most 12 key poses" in pose_may(full, "bottom").no_copy
    full = load("deep-squat-hold")
    while not phase_may(full, 1).no_copy:
        full = phase_copied(full, 1)
    assert len(full.phases) == MOST_PHASES == 16
    assert "at most 16 parts" in phase_may(full, 1).no_copy
