"""A sore knee, from its report to everything as written again: each step is a coach's, and reaches
what is published. And a lighter week after time away."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from athletes.changes import Rule, restrict
from athletes.models import Restriction
from library.body import Region, RestrictionKind, Side
from program.models import Session, WayBackStep
from program.models.resolutions import Do
from program.publish.closing import children_who_hold_what_is_forbidden
from program.publish.publishing import publish
from program.review.decisions import resolve, undo
from program.review.place_courses import place_courses
from program.review.queue import open_finding, queue_of
from tests.support.factories import ExerciseFactory, PathwayFactory
from tests.support.family import EVENING, WEDNESDAY, assign, text
from tests.support.pain import knee, report
from tests.support.queue import WHY, did, labels, log_on, press
from tests.support.sliding import session_with
from tests.support.work import work_off

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("nothing_to_agree_to")]

DAY = dt.timedelta(days=1)
AHEAD = WEDNESDAY + 26 * DAY


class Clock:
    """The evening of a day, counted from the Wednesday."""

    day = 0

    @property
    def now(self) -> dt.datetime:
        return EVENING + self.day * DAY

    @property
    def today(self) -> dt.date:
        return WEDNESDAY + self.day * DAY


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr("django.utils.timezone.now", lambda: clock.now)
    return clock


@pytest.fixture
def lunges(cast, clock) -> Session:
    """Ten lunges, published for a day nearly four weeks ahead. A squat loads the knee, too; a
    bridge does not."""
    loads = {"revision__moves": [], "revision__sides": "both"}
    chain = [
        ExerciseFactory(slug="bridge", revision__loads=["thigh"], **loads),
        ExerciseFactory(slug="squat", revision__loads=["knee"], **loads),
        ExerciseFactory(slug="lunge", revision__loads=["knee"], **loads),
    ]
    PathwayFactory(slug="squats", chain=chain)
    session = session_with(cast.cohort, "lunge", amount=10)
    session.date = AHEAD
    session.save()
    publish(session, cast.coach, clock.now)
    return session


@pytest.fixture
def answer(cast, clock):
    """Answer what waits about the way back, and let the worker do what follows."""

    def answer(label: str, because: str = ""):
        (finding,) = asked(cast, clock)
        (action,) = (each for each in finding.actions if each.label == label)
        resolution = resolve(finding, action, cast.coach, clock.now, clock.today, because)
        work_off()
        return resolution

    return answer


def asked(cast, clock):
    found = queue_of(cast.coach, clock.today).findings
    return [each for each in found if each.kind in {"pain", "restriction", "way_back"}]


def given(child, session) -> list[tuple[str, int]]:
    slots = session.assigned.get(child=child).slots
    return list(slots.values_list("revision__exercise__slug", "amount"))


def test_a_sore_knee_comes_back_step_by_step(cast, clock, lunges, answer):
    report(assign(cast.child), knee(), cast.guardian, clock.now)
    work_off()
    assert given(cast.child, lunges) == [("bridge", 10)]
    answer("No loading for two weeks")

    clock.day = 15  # the restriction is over
    answer("Begin the way back")
    assert given(cast.child, lunges) == [("bridge", 10)]
    assert asked(cast, clock) == []

    clock.day = 16
    (finding,) = asked(cast, clock)
    assert finding.headline == "Left knee: a day without pain. On to easier exercises?"
    answer("On to easier exercises")
    assert given(cast.child, lunges) == [("squat", 10)]

    log_on(clock, cast, 17)
    log_on(clock, cast, 17, state="some")
    assert asked(cast, clock) == []
    log_on(clock, cast, 18)
    answer("On to half the dose")
    assert given(cast.child, lunges) == [("lunge", 5)]

    log_on(clock, cast, 20)
    log_on(clock, cast, 22)
    answer("As written again")
    assert given(cast.child, lunges) == [("lunge", 10)]
    assert asked(cast, clock) == []
    assert children_who_hold_what_is_forbidden(clock.today) == set()


def test_what_hurts_anew_is_asked_first_and_sparing_it_puts_the_way_back_to_its_beginning(
    cast, clock, lunges, answer
):
    step = cast.child.way_back_steps.create(
        region="knee", side="left", step="half", since=WEDNESDAY - 9 * DAY, set_by=cast.coach
    )
    report(assign(cast.child), knee(), cast.guardian, clock.now)
    resolution = answer("No loading for two weeks")
    current = WayBackStep.objects.current().get()
    assert (current.step, current.since) == ("pain_free", WEDNESDAY)
    assert asked(cast, clock) == []

    undo(resolution, cast.coach, clock.now)
    assert WayBackStep.objects.current().get() == step


def test_a_way_back_of_both_sides_begins_again_when_one_of_them_hurts(cast, clock, answer):
    for region, side in (("knee", "both"), ("knee", "right"), ("ankle", "left")):
        cast.child.way_back_steps.create(region=region, side=side, step="half", since=WEDNESDAY)
    report(assign(cast.child), knee(), cast.guardian, clock.now)
    (finding,) = (each for each in asked(cast, clock) if each.kind == "pain")
    resolution = resolve(finding, finding.actions[0], cast.coach, clock.now, clock.today)
    steps = WayBackStep.objects.current().order_by("side", "region")
    assert [(each.region, each.side, each.step) for each in steps] == [
        ("knee", "both", "pain_free"),
        ("ankle", "left", "half"),
        ("knee", "right", "half"),
    ]
    undo(resolution, cast.coach, clock.now)
    assert {each.step for each in WayBackStep.objects.current()} == {"half"}


def test_a_report_without_consequence_has_the_sessions_counted_from_there(cast, clock, answer):
    cast.child.way_back_steps.create(
        region="knee", side="left", step="easier", since=WEDNESDAY - 9 * DAY, set_by=cast.coach
    )
    for days_ago in (5, 3):
        did(cast.child, cast.guardian, days_ago)
    report(assign(cast.child, WEDNESDAY - 2 * DAY), knee(level=2), cast.guardian, clock.now - DAY)
    answer("Seen, no change")
    assert asked(cast, clock) == []
    log_on(clock, cast, 1)
    log_on(clock, cast, 2)
    assert [each.headline for each in asked(cast, clock)] == [
        "Left knee: easier exercises. On to half the dose?"
    ]


def test_a_step_is_taken_back_as_it_was(cast, clock, lunges, answer):
    restrict(
        cast.child,
        Rule(Region.KNEE, Side.LEFT, RestrictionKind.NO_LOADING, WEDNESDAY, WEDNESDAY + DAY),
        cast.coach,
        clock.today,
    )
    resolution = answer("Begin the way back")
    rule = cast.child.restrictions.get()
    assert rule.lifted_on == WEDNESDAY
    undo(resolution, cast.coach, clock.now)
    rule.refresh_from_db()
    assert rule.lifted_on is None
    assert not WayBackStep.objects.exists()


def test_the_last_step_is_taken_back_too(cast, clock, lunges, answer):
    step = cast.child.way_back_steps.create(
        region="knee", side="left", step="half", since=WEDNESDAY - 20 * DAY, set_by=cast.coach
    )
    resolution = answer("As written again")
    undo(resolution, cast.coach, clock.now)
    work_off()
    assert WayBackStep.objects.current().get() == step
    assert given(cast.child, lunges) == [("lunge", 5)]


def test_on_the_childs_page_the_next_step_may_be_taken_early_with_a_reason(cast, clock, client_for):
    step = cast.child.way_back_steps.create(
        region="knee", side="left", step="easier", since=WEDNESDAY, set_by=cast.coach
    )
    assert asked(cast, clock) == []
    coach = client_for(cast.coach)
    page = reverse("program:child_review", args=[cast.child.public_id])
    assert "Left knee: easier exercises. On to half the dose?" in text(coach.get(page))
    finding = open_finding(cast.coach, cast.child, f"way_back-{step.pk}", WEDNESDAY)
    (on, back) = finding.actions
    assert (on.wants_reason, back.label) == (True, "Back to a day without pain")
    press(coach, finding, on.code, scope="child")
    assert WayBackStep.objects.current().get().step == "half"
    assert WHY in cast.child.resolutions.get().sentence


def test_what_is_spared_for_a_while_yet_may_begin_its_way_back_on_the_childs_page(cast, clock):
    rule = cast.child.restrictions.create(
        region="knee", side="left", kind="no_loading", start=WEDNESDAY, until=WEDNESDAY + 9 * DAY
    )
    assert asked(cast, clock) == []
    finding = open_finding(cast.coach, cast.child, f"restriction-{rule.pk}-goes-on", WEDNESDAY)
    resolve(finding, finding.actions[0], cast.coach, clock.now, clock.today)
    assert WayBackStep.objects.current().get().step == "pain_free"


def test_the_course_of_a_place_stands_on_the_childs_page(cast, clock, client_for, lunges, answer):
    report(assign(cast.child), knee(level=6), cast.guardian, clock.now)
    answer("No loading for two weeks")
    clock.day = 15
    answer("Begin the way back")
    log_on(clock, cast, 16)
    page = reverse("program:child_review", args=[cast.child.public_id])
    read = text(client_for(cast.coach).get(page))
    assert "Since the last report 1 session was done, and nothing hurt in them." not in read
    assert "Since the last report 1 session was done, and nothing hurt in it." in read
    newest, middle, oldest = (
        "coming back 19 November 2026 Left knee: a day without pain, and still so",
        "restriction 4 November 2026 Left knee: no loading until Wed 18 Nov; fine again Thu 19 Nov",
        "hurts 4 November 2026 Left knee, 6 of 10",
    )
    assert read.index(newest) < read.index(middle) < read.index(oldest)


def test_after_two_weeks_away_a_lighter_first_week_is_offered_and_taken(
    cast, clock, lunges, answer
):
    did(cast.child, cast.guardian, 0)
    clock.day = 20
    (finding,) = asked(cast, clock)
    assert finding.headline == "Back after 26 days. A lighter first week?"
    assert labels(finding) == ["A lighter first week", "As written"]
    resolution = answer("A lighter first week")
    assert given(cast.child, lunges) == [("lunge", 6)]
    assert asked(cast, clock) == []
    week = cast.child.way_back_steps.get()
    assert (week.since, week.until) == (AHEAD, AHEAD + 6 * DAY)

    undo(resolution, cast.coach, clock.now)
    work_off()
    assert given(cast.child, lunges) == [("lunge", 10)]


def test_as_written_is_an_answer_too_and_is_not_asked_again(cast, clock, lunges, answer):
    did(cast.child, cast.guardian, 0)
    clock.day = 20
    answer("As written")
    clock.day = 22
    assert asked(cast, clock) == []


def test_the_program_sets_its_own_thresholds(cast, clock, lunges, client_for):
    did(cast.child, cast.guardian, 0)
    clock.day = 20
    head = client_for(cast.head_coach)
    usual = {"spares_from": 1, "pain_free_days": 1, "sessions_at_a_step": 2}
    sent = usual | {"lighter_after_days": 30, "lighter_after_illness": 7}
    assert head.post(reverse("program:safety"), sent).status_code == 302
    assert asked(cast, clock) == []
    sent["lighter_after_days"] = 61
    assert head.post(reverse("program:safety"), sent).status_code == 422


def test_a_place_is_on_one_step_at_a_time_whoever_writes_it(cast, clock):
    place = {"region": "knee", "side": "left", "since": WEDNESDAY}
    cast.child.way_back_steps.create(step="easier", **place)
    with pytest.raises(IntegrityError), transaction.atomic():
        cast.child.way_back_steps.create(step="half", **place)
    with pytest.raises(IntegrityError), transaction.atomic():
        cast.child.way_back_steps.create(step="lighter", since=WEDNESDAY)


def test_two_coaches_who_confirm_at_once_take_one_step(cast, clock, lunges):
    cast.child.way_back_steps.create(
        region="knee", side="left", step="easier", since=WEDNESDAY - 20 * DAY, set_by=cast.coach
    )
    (finding,) = asked(cast, clock)
    action = next(each for each in finding.actions if each.do is Do.GO_TO)
    for coach in (cast.coach, cast.head_coach):
        resolve(finding, action, coach, clock.now, clock.today)
    assert WayBackStep.objects.current().get().step == "half"
    assert WayBackStep.objects.count() == 2


@pytest.mark.parametrize(("weeks_ago", "drawn"), [(0, 4), (5, 6), (40, 10)])
def test_a_course_is_drawn_from_the_week_in_which_it_began(weeks_ago, drawn):
    began = WEDNESDAY - 7 * weeks_ago * DAY
    rule = Restriction(region="knee", kind="no_loading", start=began, until=began + 3 * DAY)
    (course,) = place_courses([], [rule], [], [], WEDNESDAY)
    tints = [cell.tint for cell in course.lane.cells]
    assert len(tints) == drawn
    assert tints.count("look") == (0 if weeks_ago == 40 else 1)


def test_the_family_reads_what_is_spared_and_what_is_on_its_way_back(cast, clock, client_for):
    cast.child.way_back_steps.create(
        region="knee", side="left", step="easier", since=WEDNESDAY, set_by=cast.coach
    )
    cast.child.way_back_steps.create(
        step="lighter", since=WEDNESDAY, until=WEDNESDAY + 6 * DAY, set_by=cast.coach
    )
    spared = Rule(Region.ANKLE, Side.RIGHT, RestrictionKind.NO_LANDING, WEDNESDAY, WEDNESDAY + DAY)
    restrict(cast.child, spared, cast.coach, clock.today)
    family, page = (
        client_for(cast.guardian),
        reverse("program:child_day", args=[cast.child.public_id]),
    )
    free = text(family.get(page))
    assign(cast.child)
    for read in (free, text(family.get(page))):
        assert "Right ankle: no landing until Thu 5 Nov." in read
        assert "Left knee: on its way back, with easier exercises for now." in read
        assert "A lighter week until Tue 10 Nov." in read
    assert "Right ankle" not in text(family.get(page, {"day": "2026-11-12"}))
