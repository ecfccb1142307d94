"""A figure's order, the lengths of its phases and its things, changed by a coach."""

from __future__ import annotations

import pytest

from library.figures import checks
from library.figures.editing.arranging import TAKEN_OUT, Arrangement, stretches, things
from library.figures.editing.changing import changed
from library.figures.motion import Timeline
from library.figures.movement import Movement, load, read_own, slugs


def arranged(slug: str, **how) -> Movement:
    start = load(slug)
    return read_own(slug, changed(start, start.describe, {}, (), Arrangement(**how)))


def test_a_hold_lasts_as_long_as_it_is_given() -> None:
    longer = arranged("deep-squat-hold", seconds={1: 6})
    assert [phase.seconds for phase in longer.phases] == [2.5, 6, 2]
    assert Timeline(longer).seconds == pytest.approx(10.5)
    assert checks.advice(longer, load("deep-squat-hold")) == []


def test_what_the_tempo_times_has_no_length_of_its_own() -> None:
    """A box jump at 1-0-X-2: its flight and landing keep their seconds, its dip has the tempo's."""
    timed = {each.title: each.seconds is not None for each in stretches(load("box-jump"))}
    assert timed["1. Lowering"] is False
    assert timed["2. Lifting"] is False
    assert timed["3. In the air"] is True
    assert timed["4. Landing"] is True
    assert all(each.seconds for each in stretches(load("deep-squat-hold")))


def test_another_tempo_is_the_usual_one() -> None:
    assert Timeline(arranged("free-squat", tempo="4-2-2-1")).seconds == pytest.approx(9)


def test_a_phase_ends_in_another_pose_and_the_loop_still_comes_back() -> None:
    """Star reach: to the side where it went to the front."""
    start = load("star-reach")
    assert [each.stops for each in stretches(start)] == [
        ("front",), (), ("start",), ("side",), (), ("start",), ("back",), (), (),
    ]  # fmt: skip
    assert [each.comes_back for each in stretches(start)] == [False] * 8 + [True]
    other = arranged("star-reach", stops={(0, 0): "side"})
    assert [key.name for key in Timeline(other).keys][:3] == ["start", "side", "side"]
    assert Timeline(other).keys[-1].name == "start"


def test_a_pose_on_the_way_is_exchanged_in_its_place_alone() -> None:
    other = arranged("march-and-turn", stops={(0, 1): "back"})
    assert other.phases[0].through == ("ahead", "back", "back", "start")


def test_a_dip_in_no_time_is_told() -> None:
    quick = arranged("deep-squat-hold", seconds={0: 0.1})
    told = checks.advice(quick, load("deep-squat-hold"))
    assert any("fast" in sentence for sentence in told), told


def test_what_carries_the_body_is_exchanged_and_not_taken_out() -> None:
    needed = {slug: things(load(slug))[0].needed for slug in ("box-jump", "table-push", "bar-hang")}
    assert needed == {"box-jump": True, "table-push": True, "bar-hang": True}
    assert "step" in things(load("box-jump"))[0].others
    assert things(load("towel-door-row"))[-1].needed, "it hangs from the towel"


def test_what_is_carried_or_only_seen_may_be_taken_out() -> None:
    for slug in ("goblet-squat", "rope-bounce", "side-jump"):
        assert not things(load(slug))[0].needed, slug
        bare = arranged(slug, kinds={0: TAKEN_OUT})
        assert bare.props == load(slug).props[1:]
        assert checks.advice(bare, load(slug)) == []


@pytest.mark.parametrize("slug", [slug for slug in slugs() if load(slug).props])
def test_everything_that_may_stand_in_for_a_thing_does_so_without_advice(slug: str) -> None:
    start = load(slug)
    for thing in things(start):
        allowed = [*thing.others, *([] if thing.needed else [TAKEN_OUT])]
        for kind in allowed:
            other = arranged(slug, kinds={thing.number: kind})
            assert checks.advice(other, start) == [], (thing.kind, kind)


def test_with_nothing_arranged_every_figure_keeps_its_order_and_things() -> None:
    for slug in slugs():
        same = arranged(slug)
        assert (same.phases, same.props, same.tempo) == (
            load(slug).phases, load(slug).props, load(slug).tempo,
        )  # fmt: skip
