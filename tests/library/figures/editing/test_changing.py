"""A figure written out pose by pose, changed by sliders, and what is said about the change."""

from __future__ import annotations

import re
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from library.figure_editor.forms.figures import LONGEST_TEXT
from library.figures import checks
from library.figures.editing.changing import changed
from library.figures.editing.sliders import groups_of, used_poses
from library.figures.measures import measure
from library.figures.motion import key_skeletons
from library.figures.movement import Movement, load, read_own, slugs
from library.figures.names import in_words, the, the_joint
from library.figures.vectors import distance
from library.figures.writing import tables_of, toml
from library.models.exercises import TWO_POSES_AND_A_PHASE


def again(movement: Movement) -> Movement:
    return read_own(movement.slug, toml(tables_of(movement)))


def moved(slug: str, numbers: dict, let_go=()) -> Movement:
    start = load(slug)
    return read_own(slug, changed(start, start.describe, numbers, let_go))


def test_every_figure_written_out_is_the_same_figure() -> None:
    """To a thousandth of its height: angles are written to a tenth of a degree."""
    for slug in slugs():
        before, after = key_skeletons(load(slug)), key_skeletons(again(load(slug)))
        assert before.keys() == after.keys()
        for name, skeleton in before.items():
            for landmark, at in skeleton.points.items():
                assert distance(at, after[name].points[landmark]) < 0.1, (slug, name, landmark)


def test_every_figure_written_out_may_be_kept() -> None:
    for slug in slugs():
        text = toml(tables_of(load(slug)))
        assert len(text) < LONGEST_TEXT
        assert re.match(TWO_POSES_AND_A_PHASE, text, re.DOTALL), slug


@pytest.mark.parametrize("slug", ["bear-crawl", "box-jump", "rear-foot-raised-split-squat"])
def test_a_figure_written_out_still_passes_every_check(slug: str) -> None:
    assert checks.findings(again(load(slug))) == []


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_words_are_read_as_they_were_written(words: str) -> None:
    text = toml({"title": words, "pose": {words: {}}, "phase": [{"name": words}]})
    assert tomllib.loads(text) == {"title": words, "pose": {words: {}}, "phase": [{"name": words}]}


def test_every_slider_stands_between_its_limits_and_every_joint_has_one() -> None:
    for slug in slugs():
        movement = load(slug)
        for name in used_poses(movement):
            groups = {group.part: group for group in groups_of(movement.poses[name])}
            assert [len(groups[limb].joints) for limb in ("near_arm", "far_leg")] == [5, 6]
            for group in groups.values():
                for slider in (*group.joints, *group.holding):
                    assert slider.low <= slider.value <= slider.high, (slug, name, slider)


def test_a_free_elbow_bends_to_where_its_slider_stands() -> None:
    bent = moved("free-squat", {("bottom", ("near_arm", "elbow")): 90})
    assert measure(key_skeletons(bent)["bottom"], "near.elbow") == pytest.approx(90)
    assert measure(key_skeletons(bent)["start"], "near.elbow") == pytest.approx(8, abs=0.1)


def test_a_leg_that_is_let_go_stays_where_it_is_until_its_knee_bends() -> None:
    freed = moved("one-leg-stand", {}, [("start", "far_leg")])
    before = key_skeletons(load("one-leg-stand"))["start"].points["far.ankle"]
    assert distance(key_skeletons(freed)["start"].points["far.ankle"], before) < 0.2
    bent = moved("one-leg-stand", {("start", ("far_leg", "knee")): 70}, [("start", "far_leg")])
    assert measure(key_skeletons(bent)["start"], "far.knee") == pytest.approx(70)


def test_advice_says_in_plain_words_what_became_wrong() -> None:
    start = load("free-squat")
    assert checks.advice(start, start) == []
    slid = moved("free-squat", {("start", ("far_leg", "foot", 0)): 6})
    assert "The right foot slides." in checks.advice(slid, start)
    leaning = checks.advice(moved("free-squat", {("bottom", ("lean",)): 2}), start)
    assert any(sentence.startswith("The body would topple") for sentence in leaning)
    sunk = moved("glute-bridge", {("start", ("at", 1)): -4})
    assert any("sinks into the floor" in each for each in checks.advice(sunk, load("glute-bridge")))


def test_a_slide_that_the_figure_was_drawn_with_is_no_matter() -> None:
    slide = load("towel-slide-lower")
    assert checks._slides(slide)
    assert checks.advice(slide, slide) == []


def test_a_key_angle_that_is_left_is_told_with_both_angles() -> None:
    start = load("split-squat")
    shallow = moved("split-squat", {("bottom", ("near_leg", "knee")): 60})
    (told,) = [each for each in checks.advice(shallow, start) if "left knee in" in each]
    assert "is at 60°; in the figure as it was drawn it is at 90°, 5° more or less" in told


def test_points_and_joints_have_plain_names() -> None:
    assert (the("near.ball"), the("pelvis")) == ("the left foot", "the hips")
    assert (the_joint("far.leg.knee"), the_joint("bend")) == ("the right knee", "the back")
    assert in_words("near.ball is 3 short of near.wrist") == (
        "The left foot is 3 short of the left hand"
    )
