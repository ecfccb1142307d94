"""A movement file with a mistake is refused with its name, the line and what is allowed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from library.figures.motion import frames
from library.figures.movement import FOLDER, read_movement
from library.figures.source import MovementError, Source

SOUND = """title = "Squat"
describe = "Down and up."
tempo = "3-1-1-0"

[pose.start]
base = "standing"

[pose.bottom]
base = "squat-bottom"
legs = { foot = [0, 0], hip = 112, knee = 108 }

[[phase]]
name = "lowering"
seconds = 3
to = "bottom"

[[phase]]
name = "lifting"
seconds = 1
to = "start"

[[angle]]
pose = "bottom"
measure = "near.knee"
is = 108
"""


def refusal(old: str, new: str) -> MovementError:
    assert old in SOUND
    with pytest.raises(MovementError) as caught:
        read_movement(Source.parse("squat.toml", SOUND.replace(old, new, 1)))
    return caught.value


def test_a_sound_file_is_read() -> None:
    movement = read_movement(Source.parse("squat.toml", SOUND))
    assert (movement.slug, len(movement.phases)) == ("squat", 2)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("hip = 112, knee", "hip = 112, elbow", 10, "no 'elbow'; allowed: ankle, curl"),
        ("knee = 108", "knee = 170", 10, "knee is 170; allowed: -2 to 155"),
        ('base = "squat-bottom"', "hips = [0, 70]\nanchor = []", 9, "hips or anchor, not both"),
        ('base = "standing"', "legs = { foot = [90, 0] }", 5, "short of where it is held"),
        ('base = "squat-bottom"', 'base = "sofa"', 9, "allowed: upright, standing"),
        ("seconds = 3\n", "", 12, "the lowering phase has no duration"),
        ("seconds = 3", "seconds = 0", 14, "seconds is 0; allowed: 0.05 to 20"),
        ('name = "lifting"', 'name = "rising"', 18, "allowed: lowering, pause, lifting, top"),
        ('to = "start"', 'to = "bottom"', 17, "must come back to 'start'"),
        ('to = "bottom"', 'to = "botom"', 15, "'botom'; allowed: start, bottom"),
        ('tempo = "3-1-1-0"', 'tempo = "3-1"', 3, "four numbers"),
        ('tempo = "3-1-1-0"', 'tempo = "3-1-1-30"', 3, "0 to 10"),
        ('tempo = "3-1-1-0"', "tempo = 3", 3, "four numbers"),
        ('title = "Squat"', 'prop = 3\ntitle = "Squat"', 1, "written as [[prop]]"),
        ("hip = 112", "hip = nan", 10, "hip is nan; allowed: -30 to 135"),
        ("foot = [0, 0]", "foot = [0, inf]", 10, "foot is inf; allowed: -400 to 400"),
        ('measure = "near.knee"', 'measure = "knee"', 24, "near.knee"),
        ('title = "Squat"', 'titel = "Squat"', 1, "no 'titel'; allowed: angle, close"),
        ("is = 108", "is = = 108", 25, "not readable as TOML"),
    ],
)
def test_a_mistake_names_file_line_and_what_is_allowed(
    old: str, new: str, line: int, words: str
) -> None:
    error = refusal(old, new)
    assert (error.path, error.line) == ("squat.toml", line), str(error)
    assert words in error.message


def test_one_key_pose_is_not_a_movement() -> None:
    start, end = SOUND.index("[pose.bottom]"), SOUND.index("[[phase]]")
    with pytest.raises(MovementError, match="at least two key poses"):
        read_movement(Source.parse("squat.toml", SOUND[:start] + SOUND[end:]))


def test_an_unknown_prop_and_an_unknown_carrier_are_refused() -> None:
    for prop, words in (
        ('kind = "trampoline"', "allowed: seat, chair"),
        ('kind = "ball"\nat = "knee"', "allowed: near.grip"),
        ('kind = "step"\nx = [5, -5]', "from low to high"),
    ):
        with pytest.raises(MovementError, match=words):
            read_movement(Source.parse("squat.toml", f"{SOUND}\n[[prop]]\n{prop}\n"))


def test_tables_nested_without_end_are_refused() -> None:
    with pytest.raises(MovementError, match="nested too deeply"):
        Source.parse("squat.toml", "title = " + "[" * 5000)


VALUES = (
    "nan", "-inf", "1e400", "-1", "0", "9" * 30, '"x"', '""', "[]", "[1]", "[nan, 0]", "{}",
    "{ a = 1 }", "true", "[[1]]", "2020-01-01", "[0, 0, 1e300]", '"start"', "[0, 0]", "[1, 2, 3]",
)  # fmt: skip
WHOLE_TABLES = ("prop = 3", "angle = 3", "[prop]", "[angle]", "phase = 1", "pose = 2", "pose = []")
TEXTS = [file.read_text() for file in sorted(FOLDER.glob("*.toml"))]


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """A movement file in which a line is gone, doubled, or says something else."""
    lines = draw(st.sampled_from(TEXTS)).splitlines()
    at = draw(st.integers(0, len(lines) - 1))
    name, sign, _ = lines[at].partition(" = ")
    lines[at : at + 1] = draw(
        st.sampled_from(
            [
                [],
                [lines[at]] * 2,
                [draw(st.sampled_from(WHOLE_TABLES)), lines[at]],
                [lines[at].replace("foot", "hand").replace("near", "far")],
                [f"{name}{sign}{draw(st.sampled_from(VALUES))}" if sign else lines[at]],
            ]
        )
    )
    return "\n".join(lines)


@settings(max_examples=40)
@given(spoilt())
def test_a_spoilt_file_is_refused_by_line_or_can_be_played(text: str) -> None:
    line, movement = 1, None
    try:
        movement = read_movement(Source.parse("spoilt.toml", text))
    except MovementError as error:
        line = error.line
    assert 1 <= line <= text.count("\n") + 2
    assert movement is None or frames(movement, fps=1)
