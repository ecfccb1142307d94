"""The drawing: moves by itself under a strict policy, small, described, mirrored."""

from __future__ import annotations

import gzip
import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from library.figures import movement
from library.figures.drawing import (
    DARK,
    STROKES,
    TOLERANCE,
    _Animation,
    content_hash,
    pair,
    still,
    svg,
)
from library.figures.outline import Part
from library.figures.vectors import distance, plus, times
from tests.contracts.test_contrast import contrast

SLUG = "free-squat"


def numbers(drawing: str, pattern: str) -> list[str]:
    return re.findall(pattern, drawing)


def test_it_is_well_formed_titled_and_described() -> None:
    described = movement.load(SLUG)
    root = ElementTree.fromstring(svg(described))  # noqa: S314 our own drawing
    names = [child.tag.rpartition("}")[2] for child in root]
    assert names[:2] == ["title", "desc"]
    assert [child.text for child in root][:2] == [described.title, described.describe]
    assert root.get("role") == "img"


def test_nothing_in_it_needs_a_script_an_inline_style_or_another_file() -> None:
    drawing = svg(movement.load(SLUG))
    assert "<script" not in drawing
    assert 'style="' not in drawing
    assert not re.search(r"\bon\w+=", drawing)
    assert not re.search(r'href="(?!#)', drawing)


def test_it_loops_for_as_long_as_the_tempo() -> None:
    assert set(numbers(svg(movement.load(SLUG), "4-1-2-0"), r'dur="([^"]+)"')) == {"7s"}
    assert 'repeatCount="indefinite"' in svg(movement.load(SLUG))


def test_values_and_times_agree_and_cover_the_loop() -> None:
    for animate in numbers(svg(movement.load(SLUG)), r"<animate [^>]+>"):
        times = re.search(r'keyTimes="([^"]+)"', animate).group(1).split(";")
        values = re.search(r'values="([^"]+)"', animate).group(1).split(";")
        assert len(times) == len(values)
        assert (times[0], times[-1]) == ("0", "1")
        assert [float(t) for t in times] == sorted(float(t) for t in times)
        assert values[0] == values[-1]


@pytest.mark.parametrize("slug", movement.slugs())
def test_every_figure_keeps_its_shapes_while_it_moves(slug: str) -> None:
    """A shape whose commands change cannot be blended, and would jump."""
    for values in numbers(svg(movement.load(slug)), r'values="([^"]+)"'):
        kinds = {re.sub(r"-?\d+", "0", shape.replace("-", " -")) for shape in values.split(";")}
        assert len({kind.count("0") for kind in kinds}) == 1
        assert len({re.sub(r"[ 0]", "", kind) for kind in kinds}) == 1


def test_an_image_and_its_own_pair_show_the_same_stills() -> None:
    described = movement.load(SLUG)
    stills = pair(described)
    assert "<animate" not in stills
    assert stills.count("<svg ") == 3


def test_less_motion_shows_start_and_end_side_by_side() -> None:
    drawing = svg(movement.load(SLUG))
    assert "@media(prefers-reduced-motion:reduce){.m{display:none}.s{display:inline}}" in drawing
    stills = drawing[drawing.index('<g class="s"') :]
    assert "<animate" not in stills
    assert stills.count("<svg ") == 2


def test_dark_is_followed() -> None:
    assert "@media(prefers-color-scheme:dark)" in svg(movement.load(SLUG))


def test_the_right_side_is_the_left_side_mirrored() -> None:
    described = movement.load(SLUG)
    left, right = still(described, "start"), still(described, "start", "right")
    first = re.search(r'<path id="\w+" d="M(-?\d+)', left).group(1)
    other = re.search(r'<path id="\w+" d="M(-?\d+)', right).group(1)
    assert int(first) == -int(other)


def test_a_still_in_a_list_shows_what_is_most_unlike_the_start() -> None:
    """A jump with a quarter turn is not told by somebody who stands there."""

    def lines(slug: str, phase: str = "") -> list[str]:
        return numbers(still(movement.load(slug), phase), r' d="([^"]+)"')

    assert lines("quarter-turn-landing") != lines("quarter-turn-landing", "lowering")
    assert lines("quarter-turn-landing") == lines("quarter-turn-landing", "landing")
    assert lines(SLUG) == lines(SLUG, "lowering")


def test_a_still_of_any_phase_and_of_no_other() -> None:
    described = movement.load(SLUG)
    assert still(described, "lowering") != still(described, "start")
    assert "<animate" not in still(described, "pause")
    with pytest.raises(KeyError):
        still(described, "flight")


def test_the_hash_changes_with_what_is_drawn() -> None:
    described = movement.load(SLUG)
    hashes = {
        content_hash(described),
        content_hash(described, "5-1-1-0"),
        content_hash(described, None, "right"),
        content_hash(movement.load("half-squat")),
    }
    assert len(hashes) == 4
    assert content_hash(described) == content_hash(described)


@pytest.mark.parametrize("slug", movement.slugs())
def test_every_figure_is_at_most_six_kilobytes(slug: str) -> None:
    assert len(gzip.compress(svg(movement.load(slug)).encode())) <= 6 * 1024


def masks(drawing: str) -> int:
    return drawing[: drawing.index('<g class="s"')].count("<mask ")


def test_seen_from_the_front_a_leg_is_set_apart_from_the_one_it_crosses() -> None:
    assert masks(svg(movement.load("skater-bound"))) == 2
    assert masks(svg(movement.load("arm-slide"))) == 1


def parts(slug: str, view: str | None = None) -> list[Part]:
    described = movement.load(slug)
    animation = _Animation(replace(described, view=view or described.view), None, "left")
    return animation.picture(animation.start)


def test_the_near_side_is_in_ink_and_the_far_side_lighter() -> None:
    """From the side: arm and leg of the far side, then all of the body in ink."""
    body = [part for part in parts("bird-dog", "side") if part.tone in "if"]
    assert [part.tone for part in body] == ["f", "f", *"i" * (len(body) - 2)]
    assert {part.tone for part in parts("arm-slide") if part.group} == {"i", "f", "g"}


def test_limbs_are_round_the_trunk_is_curved_and_feet_and_hands_point() -> None:
    assert 'stroke-linecap="round" stroke-linejoin="round"' in svg(movement.load(SLUG))
    drawn = parts("prone-y-lift", "side")
    (trunk,) = (part for part in drawn if part.command == "q")
    assert len(trunk.points) == 3
    far_arm, far_leg, *_ = (part for part in drawn if part.tone in "if")
    assert len(far_arm.points) == 4, "shoulder, elbow, wrist, finger tips"
    assert len(far_leg.points) == 6, "hip, knee, ankle, heel, ball, toes"


@pytest.mark.parametrize("drawing", [svg, pair])
def test_it_has_a_shape_and_no_size_so_that_it_fits_any_place(drawing) -> None:
    root = ElementTree.fromstring(drawing(movement.load(SLUG)))  # noqa: S314 our own drawing
    assert root.get("viewBox")
    assert (root.get("width"), root.get("height")) == (None, None)


def test_a_wall_seen_from_the_front_is_a_face_behind_the_figure_and_from_the_side_a_line() -> None:
    ahead, beside = parts("arm-slide"), parts("arm-slide", "side")
    face = next(part for part in ahead if part.filled and part.tone == "g")
    assert ahead.index(face) < next(n for n, part in enumerate(ahead) if part.tone == "i")
    wide, high = zip(*face.points, strict=True)
    assert min(wide) < -40 < 40 < max(wide)
    assert min(high) < -110 < 0 <= max(high)
    (edge,) = (part for part in beside if part.tone == "p")
    assert len({x for x, _ in edge.points}) == 1


def test_seen_from_higher_up_a_seat_stands_on_the_legs_that_are_not_behind_it() -> None:
    top, *legs = (part for part in parts("seated-turn") if part.tone == "p")
    assert len(top.points) == 4
    furthest = min(top.points, key=lambda point: point[1])
    assert {leg.points[0] for leg in legs} == {*top.points} - {furthest}
    assert all(down > up for (_, up), (_, down) in (leg.points for leg in legs))
    assert len([part for part in parts("ninety-ninety") if part.tone == "p"]) == 1, "a mat is flat"


def test_a_curve_reaches_no_further_than_it_goes() -> None:
    """Halfway, a cubic with both handles at 4 is at 3/4 of that, and a quadratic at half."""
    rope = Part("p", 1.6, [(0, 0), (0, 4), (8, 4), (8, 0)], command="c").passes()
    back = Part("i", 8.6, [(0, 0), (4, 4), (8, 0)], command="q").passes()
    assert max(y for _, y in rope) == pytest.approx(3)
    assert max(y for _, y in back) == pytest.approx(2)
    assert (rope[0], rope[-1], rope[6]) == ((0, 0), (8, 0), pytest.approx((4, 3)))


def test_what_is_held_from_hand_to_hand_is_drawn_before_the_body() -> None:
    (towel,) = (part for part in parts("tight-towel-raise") if part.tone == "p")
    (rope,) = (
        part
        for part in parts("towel-door-row")
        if part.tone == "p" and len(part.points) == 2 and part.points[0][0] != part.points[1][0]
    )
    assert (towel.front, towel.group, rope.front) == (True, "body", False)


def test_a_face_is_seen_where_it_is_turned_to_the_viewer() -> None:
    """A nose in the lighter tone of what lies further off, in the middle of the head."""
    face = '<path class="f h" '
    assert face in svg(movement.load("arm-slide"))
    assert face not in svg(movement.load("free-squat"))
    assert face not in svg(movement.load("bear-side-crawl")), "it looks at the floor"


def test_a_face_shrinks_away_as_the_head_turns() -> None:
    described = movement.load("quarter-turn-landing")
    faces = re.search(r'<path class="f h" [^>]+><animate [^>]+>', svg(described)).group()
    shapes = re.search(r'values="([^"]+)"', faces).group(1).split(";")
    steps = [max(abs(int(n)) for n in re.findall(r"-?\d+", shape)[2:]) for shape in shapes]
    assert (min(steps), max(steps) > 4) == (0, True)


def test_a_low_figure_fills_its_picture() -> None:
    """A plank is drawn larger than somebody standing, and the floor stays at the bottom."""
    plank, standing = (
        [int(n) for n in re.search(r'viewBox="([^"]+)"', svg(movement.load(slug))).group(1).split()]
        for slug in ("plank", "free-squat")
    )
    assert plank[2] < 0.85 * standing[2]
    assert plank[1] + plank[3] == standing[1] + standing[3] == 24


def test_a_drawing_tells_what_it_reaches_but_not_where_marks_pass_by() -> None:
    """So that another shape of place can show a plank without the room over it."""
    told = re.search(r'data-reach="([^"]+)" data-fit="xMidYMax"', svg(movement.load("plank")))
    _, top, width, height = map(int, told.group(1).split())
    assert top + height == 24
    assert 110 * 4 < width < 130 * 4
    assert 25 * 4 < height < 45 * 4
    assert "data-reach" not in svg(movement.load("walking-lunge"))
    assert "data-reach" not in svg(movement.load("foot-dome"))
    assert 'data-fit="xMidYMid"' in svg(movement.load("open-book"))


def windows(drawing: str) -> list[list[int]]:
    """Of the two stills: x, y, width and height of their places, and of what they show."""
    found = re.findall(
        r'<svg x="(-?\d+)" y="(-?\d+)" width="(\d+)" height="(\d+)" viewBox="([^"]+)"', drawing
    )
    return [[*map(int, place), *map(int, shows.split())] for *place, shows in found]


def test_two_stills_are_as_large_as_fits_the_low_ones_one_above_the_other() -> None:
    lying, standing = windows(pair(movement.load("plank"))), windows(pair(movement.load(SLUG)))
    assert lying[0][0] == lying[1][0]
    assert lying[0][1] < lying[1][1]
    assert standing[0][0] < standing[1][0]
    assert standing[0][1] == standing[1][1]


@pytest.mark.parametrize("slug", ["plank", "free-squat", "bear-side-crawl", "foot-dome"])
def test_two_stills_have_the_same_scale_and_floor(slug: str) -> None:
    one, other = windows(pair(movement.load(slug)))
    assert one[2:4] == other[2:4]
    assert one[6:] == other[6:]
    assert movement.load(slug).view != "side" or one[5] + one[7] == other[5] + other[7]


@pytest.mark.parametrize(
    ("slug", "shown"),
    [
        ("free-squat", "bottom"),
        ("heel-raise", "top"),
        ("reverse-lunge", "bottom"),
        ("broad-jump", "land"),
        ("walking-lunge", "lunge"),
        ("skater-bound", "air"),
    ],
)
def test_beside_the_start_stands_what_is_most_unlike_it_and_not_its_mirror_image(
    slug: str, shown: str
) -> None:
    assert _Animation(movement.load(slug), None, "left").other_key().name == shown


@pytest.mark.parametrize(
    ("strokes", "grounds"), [(STROKES, ("#f6f3ea", "#fffdf8")), (DARK, ("#141b1b", "#1c2625"))]
)
def test_body_and_things_stand_out_from_page_and_sheet(
    strokes: dict[str, str], grounds: tuple[str, ...]
) -> None:
    """At 3 : 1, as WCAG 2.2, 1.4.11 asks of graphics, and the far side from the near one."""
    for ground in grounds:
        assert all(contrast(strokes[tone], ground) >= 3 for tone in "ifp")
    assert contrast(strokes["i"], strokes["f"]) >= 3


def test_a_still_for_a_list_comes_as_close_as_its_one_pose_allows() -> None:
    def width(drawing: str) -> int:
        return int(re.search(r'viewBox="-?\d+ -?\d+ (\d+)', drawing).group(1))

    described = movement.load("split-squat")
    assert width(still(described, "lowering")) < width(still(described, "start"))
    assert width(still(described, "lowering")) < 0.85 * width(svg(described))


@pytest.mark.parametrize("slug", ["star-reach", "line-bounce", "bear-side-crawl"])
def test_a_figure_seen_from_above_is_never_clipped(slug: str) -> None:
    drawing = svg(movement.load(slug))
    _, top, _, height = (int(n) for n in re.search(r'viewBox="([^"]+)"', drawing).group(1).split())
    starts = [int(n) for n in re.findall(r"M-?\d+ ?(-?\d+)", drawing)]
    assert top <= min(starts) - 7 * 4
    assert max(starts) <= top + height


def test_a_slow_move_is_drawn_from_no_more_samples_than_its_shape_needs() -> None:
    """Two moves of ten seconds and two rests: 30 samples a move, one a rest, and the first."""
    slowest = _Animation(movement.load("pause-squat"), "10-10-10-10", "left")
    assert len(slowest.times) == 1 + 30 + 1 + 30 + 1
    assert slowest.times[-1] == pytest.approx(slowest.timeline.seconds) == 40


@pytest.mark.parametrize("slug", ["pause-squat", "floor-push", "side-leg-lift", "lunge-turn"])
def test_between_its_samples_a_slow_figure_goes_where_its_movement_goes(slug: str) -> None:
    """No joint further than the drawing may stray from the straight line between two samples."""
    drawn = _Animation(movement.load(slug), "10-10-10-10", "left")
    samples = zip(drawn.times, drawn.skeletons, strict=True)
    for (start, one), (end, other) in pairwise(samples):
        halfway = drawn.timeline.at((start + end) / 2)
        for name, at in halfway.points.items():
            middle = times(plus(one.points[name], other.points[name]), 0.5)
            assert distance(at, middle) < TOLERANCE, (name, start)
