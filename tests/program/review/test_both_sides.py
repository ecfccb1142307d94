"""One place that hurts on both sides: one row, answered once, and everything of both stays spared
until then. It is Wednesday evening."""

import datetime as dt
import itertools

import pytest
from django.urls import reverse

from athletes.models import Restriction
from library.body import LEG, Region, RestrictionKind, Side
from program.common.library_snapshot import library_snapshot
from program.engine.fit.limits import Restriction as Rule
from program.fit.held_back import held_back
from program.models import PainReport, Resolution, WayBackStep
from program.review.decisions import undo
from program.review.findings.pain import actions_for
from tests.support.factories import ChildFactory, ExerciseFactory
from tests.support.family import EVENING, WEDNESDAY, text
from tests.support.queue import did, hurt, labels, press, waiting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening", "nothing_to_agree_to")]

WRONG_LEFT = "Left knee: it is not about this child"


@pytest.fixture
def session(cast):
    return did(cast.child, cast.guardian, 2)


@pytest.fixture
def knees(cast, session):
    """Left 3 of 10 on Monday, right 6 of 10 today."""
    hurt(session, cast.guardian, days_ago=2, level=3, note="Going down")
    hurt(session, cast.guardian, side="right", level=6)
    (row,) = waiting(cast.coach, "pain")
    return row


def spared():
    return set(Restriction.objects.values_list("region", "side", "kind"))


def unanswered():
    return set(PainReport.objects.unanswered().values_list("side", flat=True))


def code(finding, label):
    return next(each.code for each in finding.actions if each.label == label)


def test_left_and_right_are_one_row_that_names_both_and_tells_of_each(cast, knees):
    assert knees.headline == "Left and right knee, up to 6 of 10"
    assert knees.evidence == (
        "Right knee: 6 of 10, told by Own Parent, Wednesday 4 November, 18:30, in Day 2. "
        "2nd report about the knee in twelve weeks.",
        "Right knee: spared until you have answered.",
        "Left knee: “Going down” 3 of 10, told by Own Parent, Monday 2 November, 18:30, in Day 2. "
        "1st report about the knee in twelve weeks.",
        "Left knee: spared until you have answered.",
    )
    words = [cell.words for cell in knees.lane.cells]
    assert words == ["left, 3 of 10 Mon 2 Nov", "right, 6 of 10 Wed 4 Nov"]
    assert labels(knees) == [
        "No loading for two weeks, on both sides",
        "No landings for two weeks, on both sides",
        "Nothing at all there for two weeks, on both sides",
        "Seen, no change",
        "Right knee: it is not about this child",
        WRONG_LEFT,
    ]


def test_other_places_and_other_children_stay_rows_of_their_own(cast, session, knees):
    hurt(session, cast.guardian, region="ankle", side="right")
    second = ChildFactory(cohort=cast.cohort)
    hurt(did(second, cast.guardian, 1), cast.guardian, side="right", level=1)
    assert sorted(each.headline for each in waiting(cast.coach, "pain")) == [
        "Left and right knee, up to 6 of 10",
        "Right ankle, 4 of 10",
        "Right knee, 1 of 10",
    ]


def test_answered_once_both_are_spared_and_taken_back_both_wait_again(cast, coach, knees):
    press(coach, knees, code(knees, "No loading for two weeks, on both sides"))
    assert (unanswered(), spared()) == (set(), {("knee", "both", "no_loading")})
    assert waiting(cast.coach, "pain") == []
    undo(Resolution.objects.get(), cast.coach, EVENING)
    assert (unanswered(), spared()) == ({"left", "right"}, set())
    (again,) = waiting(cast.coach, "pain")
    assert again.key == knees.key


def test_no_change_wants_the_reason_that_the_worse_side_wants(coach, knees):
    seen = next(each for each in knees.actions if each.label == "Seen, no change")
    assert seen.wants_reason
    press(coach, knees, "seen", because="")
    assert unanswered() == {"left", "right"}
    press(coach, knees, "seen")
    assert unanswered() == set()


def test_a_limp_on_one_side_spares_both_whole_legs_and_offers_nothing_milder(cast, coach, session):
    hurt(session, cast.guardian, days_ago=2, level=2, signs=("limp",))
    hurt(session, cast.guardian, side="right", level=9)
    (row,) = waiting(cast.coach, "pain")
    assert labels(row)[:3] == [
        "Nothing at all there for two weeks, on both sides",
        "No sessions for two weeks",
        "May go on as before",
    ]
    assert "With it: a limp." in row.evidence
    assert row.evidence.index("With it: a limp.") > row.evidence.index(
        "Right knee: spared until you have answered."
    )
    assert row.weight > 100
    assert held_back([cast.child.pk], WEDNESDAY) == {cast.child.pk}
    press(coach, row, row.actions[0].code)
    assert spared() == {(region.value, "both", "nothing") for region in LEG}


def test_one_side_that_was_about_another_child_leaves_the_other_spared_and_waiting(
    cast, coach, knees
):
    press(coach, knees, code(knees, WRONG_LEFT))
    assert unanswered() == {"right"}
    (right,) = waiting(cast.coach, "pain")
    assert right.headline == "Right knee, 6 of 10"
    assert labels(right)[-1] == "It is not about this child"
    undo(Resolution.objects.get(), cast.coach, EVENING)
    assert unanswered() == {"left", "right"}
    assert [each.key for each in waiting(cast.coach, "pain")] == [knees.key]


@pytest.mark.parametrize("act", ["later", "hand"])
def test_an_answer_that_put_one_side_aside_hides_nothing_of_both(cast, coach, session, act):
    """What is put off or given to a coach was one knee; now it is two."""
    hurt(session, cast.guardian, side="right", level=8)
    (right,) = waiting(cast.coach, "pain")
    tomorrow = (WEDNESDAY + dt.timedelta(days=1)).isoformat()
    press(coach, right, act, until=tomorrow, to=cast.coach.pk)
    hurt(session, cast.guardian, days_ago=1, level=2)
    (both,) = waiting(cast.coach, "pain")
    assert (both.headline, both.handed) == ("Left and right knee, up to 8 of 10", None)


def test_the_page_that_showed_one_side_answers_nothing_once_there_are_two(cast, coach, session):
    hurt(session, cast.guardian, side="right")
    (right,) = waiting(cast.coach, "pain")
    hurt(session, cast.guardian, level=2)
    press(coach, right, "seen")
    assert unanswered() == {"left", "right"}
    assert not Resolution.objects.exists()


def test_a_side_and_both_or_the_middle_are_one_row_too(cast, coach, session):
    hurt(session, cast.guardian, side="both", level=2, days_ago=1)
    hurt(session, cast.guardian, level=5)
    (row,) = waiting(cast.coach, "pain")
    assert row.headline == "Knee, both sides, up to 5 of 10"
    assert row.evidence[0].startswith("Left knee: 5 of 10")
    press(coach, row, row.actions[0].code)
    assert (unanswered(), spared()) == (set(), {("knee", "both", "no_loading")})


def test_without_a_number_on_either_side_none_is_said(cast, session):
    for side in ("left", "right"):
        hurt(session, cast.guardian, side=side, level=None)
    (row,) = waiting(cast.coach, "pain")
    assert row.headline == "Left and right knee"


def test_both_ways_back_begin_again_together_and_end_together(cast, coach, knees):
    for side in ("left", "right"):
        cast.child.way_back_steps.create(region="knee", side=side, step="half", since=WEDNESDAY)
    press(coach, knees, code(knees, "No loading for two weeks, on both sides"))
    steps = WayBackStep.objects.current().values_list("side", "step")
    assert set(steps) == {("left", "pain_free"), ("right", "pain_free")}
    undo(Resolution.objects.get(), cast.coach, EVENING)
    assert {each.step for each in WayBackStep.objects.current()} == {"half"}


def test_an_older_rule_about_one_side_stays_as_strict_and_as_long(cast, coach, knees):
    until = WEDNESDAY + dt.timedelta(days=40)
    old = cast.child.restrictions.create(
        region="knee", side="left", kind="nothing", start=WEDNESDAY, until=until
    )
    press(coach, knees, code(knees, "No landings for two weeks, on both sides"))
    old.refresh_from_db()
    assert (old.kind, old.until, old.lifted_on) == ("nothing", until, None)
    assert spared() == {("knee", "left", "nothing"), ("knee", "both", "no_landing")}


def test_on_the_childs_page_either_side_shows_that_it_was_spared(cast, coach, knees):
    press(coach, knees, code(knees, "No loading for two weeks, on both sides"))
    page = text(coach.get(reverse("program:child_review", args=[cast.child.public_id])))
    assert page.count("Knee: no loading until Wed 18 Nov") >= 2


def test_the_first_answer_for_both_leaves_out_whatever_the_first_for_either_would():
    """Of every place and with every sign on either side; on the left it hurt in each of these."""
    everywhere = [each.value for each in Region]
    for slug, facts in {
        "loads": {"loads": everywhere, "moves": []},
        "moves": {"loads": [], "moves": everywhere},
        "lands": {"pattern": "jump", "contacts": 1, "loads": ["ankle", "knee"], "moves": []},
        "calm": {"loads": [], "moves": []},
    }.items():
        ExerciseFactory(slug=slug, **{f"revision__{name}": said for name, said in facts.items()})
    library = library_snapshot()
    signs: list[list[str]] = [[], ["limp"], ["night"], ["locks"]]
    tried = 0
    for region, left, right in itertools.product(Region, signs, signs):
        for revision in library.revisions.values():
            said = {"region": region.value, "level": 3, "reported_at": EVENING}
            one = PainReport(**said, side="left", signs=left, revision=revision)
            other = PainReport(**said, side="right", signs=right)
            both = ruled_out([one, other], region, library)
            assert both >= ruled_out([one], region, library) | {revision.exercise.slug}
            assert both >= ruled_out([other], region, library)
            tried += 1
    assert tried == len(Region) * 4 * 4 * 4


def ruled_out(reports, region, library):
    """What the first answer offered leaves out, by slug; of the whole leg where it spares that."""
    first = actions_for(reports, library.fit)[0]
    kind = RestrictionKind(first.do)
    without = frozenset(filter(None, first.target.split(",")))
    regions = {region}
    if kind is RestrictionKind.NOTHING:
        regions |= {rule.region for each in reports for rule in each.pain.spares}
    rules = [Rule(each, kind, Side.BOTH, without) for each in regions]
    return {
        slug
        for slug, exercise in library.fit.by_slug.items()
        if any(rule.rules_out(exercise) for rule in rules)
    }
