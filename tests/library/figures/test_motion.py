"""Playing a movement: tempo, mirroring, travelling, joints solved from fixed hands and feet."""

from __future__ import annotations

from math import cos, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.figures import body
from library.figures.motion import GRAVITY, Timeline, frames, held_from, key_skeletons, repetition
from library.figures.movement import load, read_movement, slugs
from library.figures.skeleton import reach
from library.figures.source import Source
from library.figures.vectors import Frame, along, distance
from library.tempo import FAST, FAST_SECONDS, LONGEST_PHASE, Tempo

JUMP = """title = "Jump"
describe = "Up and down."
[pose.start]
base = "standing"
[pose.dip]
base = "squat-bottom"
[pose.off]
base = "standing"
legs = { foot = [0, 0], heel_up = 40 }
hips = [4, 53.5]
[pose.on]
base = "standing"
legs = { foot = [0, 0], heel_up = 20 }
hips = [2, 50]
[[phase]]
name = "lowering"
seconds = 0.6
to = "dip"
[[phase]]
name = "lifting"
seconds = 0.3
to = "off"
[[phase]]
name = "flight"
seconds = 0.3
to = "on"
[[phase]]
name = "landing"
seconds = 0.5
to = "start"
[[angle]]
pose = "dip"
measure = "near.knee"
is = 108
"""


def test_a_prescribed_tempo_sets_every_phase() -> None:
    timeline = Timeline(load("free-squat"), "2-0-X-1")
    assert [(p.name, p.seconds) for p in timeline.phases] == [
        ("lowering", 2),
        ("lifting", FAST_SECONDS),
        ("top", 1),
    ]
    assert timeline.seconds == pytest.approx(2 + FAST_SECONDS + 1)


def test_the_loop_lasts_as_long_as_the_tempo_adds_up_to() -> None:
    movement = load("floor-push")
    assert len(frames(movement, "3-1-1-0")) == 5 * 30
    assert len(frames(movement, "5-2-1-0")) == 8 * 30


phases = st.integers(0, LONGEST_PHASE)
moving = phases | st.just(FAST)
tempos = st.tuples(moving, phases, moving, phases).filter(any).map(lambda parts: str(Tempo(*parts)))
timed = st.sampled_from([slug for slug in slugs() if load(slug).tempo])


@given(timed, tempos)
def test_at_any_tempo_a_loop_is_a_whole_number_of_repetitions(slug: str, tempo: str) -> None:
    """So that the second and the tenth repetition begin where they are counted."""
    beat = Tempo.parse(tempo).seconds()
    loops = Timeline(load(slug), tempo).seconds / beat
    assert loops == pytest.approx(round(loops), abs=1e-6)
    assert 1 <= round(loops) <= 6


def test_a_repetition_is_told_in_the_order_in_which_it_is_drawn() -> None:
    assert repetition(load("free-squat"), "3-0-1-0") == [("lowering", 3), ("lifting", 1)]
    bridge = [("lifting", 1), ("top", 2), ("lowering", 3)]
    assert repetition(load("glute-bridge"), "3-0-1-2") == bridge
    assert repetition(load("star-reach"), "2-1-1-0") == [
        ("lowering", 2),
        ("pause", 1),
        ("lifting", 1),
    ]
    jump = repetition(load("small-jump"), "1-0-X-2")
    assert jump == [("lowering", 1), ("lifting", FAST_SECONDS), ("top", 2)]
    assert repetition(load("rope-bounce"), "2-0-1-0") == []


def test_a_figure_that_holds_once_says_from_when() -> None:
    assert held_from(load("plank")) == pytest.approx(load("plank").phases[0].seconds)
    assert held_from(load("free-squat")) is None
    assert held_from(load("bear-march")) is None


def test_a_jump_is_done_within_the_seconds_of_its_tempo() -> None:
    """1-0-X-2 is 3.5 s: take-off and flight share the X, landing and standing up the last two."""
    text = JUMP.replace('name = "flight"', 'name = "flight"\npart = "lifting"').replace(
        'name = "landing"', 'name = "landing"\npart = "top"'
    )
    text += '[[phase]]\nname = "top"\nseconds = 1\n'
    timeline = Timeline(read_movement(Source.parse("jump.toml", text)), "1-0-X-2")
    assert [(p.name, pytest.approx(p.seconds)) for p in timeline.phases] == [
        ("lowering", 1),
        ("lifting", 0.2),
        ("flight", 0.3),
        ("landing", 0.5),
        ("top", 1.5),
    ]


def test_the_bottom_is_reached_when_lowering_ends() -> None:
    movement = load("free-squat")
    bottom = key_skeletons(movement)["bottom"]
    reached = Timeline(movement, "4-1-1-0").at(4.0)
    assert distance(reached.points["pelvis"], bottom.points["pelvis"]) < 1e-6


def test_a_flight_falls_as_bodies_fall() -> None:
    timeline = Timeline(read_movement(Source.parse("jump.toml", JUMP)))
    off, on = timeline.at(0.9), timeline.at(1.2)
    top = timeline.at(1.05)
    straight = (off.points["pelvis"][1] + on.points["pelvis"][1]) / 2
    assert top.points["pelvis"][1] - straight == pytest.approx(GRAVITY * 0.3**2 / 8, abs=0.01)
    assert top.phase == "flight"
    assert top.contacts == ()


@given(
    flex=st.floats(-60, 120),
    out=st.floats(-30, 60),
    knee=st.floats(2, 150),
    turn=st.floats(-50, 50),
)
def test_inverse_kinematics_meets_any_point_a_leg_can_reach(
    flex: float, out: float, knee: float, turn: float
) -> None:
    thigh = Frame().lean(-flex).roll(-out).turn(turn)
    hip = (0.0, 50.0, 4.6)
    middle = along(hip, thigh.up, -body.THIGH)
    ankle = along(middle, thigh.lean(knee).up, -body.SHANK)
    solved = reach(hip, ankle, (body.THIGH, body.SHANK), Frame(), 1.0, 0.0, 1.0)
    again = Frame().lean(-solved[0]).roll(-solved[1]).turn(solved[2])
    found_knee = along(hip, again.up, -body.THIGH)
    found = along(found_knee, again.lean(solved[3]).up, -body.SHANK)
    assert distance(found, ankle) < 1e-6
    assert solved[3] == pytest.approx(knee, abs=1e-4)


def test_two_bone_reach_worked_by_hand() -> None:
    """Thigh 24 and shank 24 with the foot 24 times root two away: a right-angled knee."""
    flex, out, _, knee = reach((0, 0, 0), (0, -24 * 2**0.5, 0), (24, 24), Frame(), 1.0, 0.0, 1.0)
    assert (flex, out, knee) == pytest.approx((45, 0, 90), abs=1e-6)
    assert 24 * cos(radians(flex)) == pytest.approx(24 * sin(radians(45)))


def test_the_body_adds_up_to_its_stature_and_its_mass() -> None:
    below = body.ANKLE_HEIGHT + body.SHANK + body.THIGH
    above = body.TRUNK + body.NECK_TO_HEAD + body.RADIUS["head"]
    assert below + above == pytest.approx(100, abs=0.5)
    limbs = ("upper_arm", "forearm", "hand", "thigh", "shank", "foot")
    masses = {name: mass for name, (mass, _) in body.MASSES.items()}
    total = sum(masses.values()) + sum(masses[name] for name in limbs)
    assert total == pytest.approx(1, abs=0.002)
