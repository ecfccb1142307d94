"""A cohort placed in one step, at a starting point that nobody has seen yet."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.changes import place, see_as_they_stand
from athletes.models import Placement, StartingPoint
from athletes.starting_profile import TrainingAge, starting_profile, training_age
from athletes.undo import undo_placement
from tests.support.children_pages import assert_well_made, text
from tests.support.factories import ChildFactory, ExerciseFactory, PathwayFactory

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 11, 4)
SQUATS = ("sofa-squat", "half-squat", "squat", "goblet-squat", "pause-squat")


@pytest.fixture
def squats():
    return [ExerciseFactory(slug=slug) for slug in SQUATS]


@pytest.fixture
def pathway(squats):
    return PathwayFactory(slug="squat", name="Squat", chain=squats)


@pytest.fixture
def landing():
    chain = [ExerciseFactory(slug=slug) for slug in ("snap-down", "small-jump")]
    return PathwayFactory(slug="land", name="Land", pattern="land", chain=chain)


@pytest.fixture
def group(cast) -> str:
    return reverse("athletes:place_group", args=[cast.cohort.pk])


def stands(child) -> dict[str, tuple[str, bool]]:
    rows = child.placements.current().values_list("pathway__slug", "exercise__slug", "is_seen")
    return {pathway: (exercise, seen) for pathway, exercise, seen in rows}


def began(child, days_ago: int) -> None:
    child.enrolments.update(start=TODAY - dt.timedelta(days=days_ago))


@pytest.mark.parametrize(
    ("days", "band"),
    [(0, "new"), (364, "new"), (365, "some"), (1094, "some"), (1095, "longer"), (4000, "longer")],
)
def test_training_age_is_the_time_since_the_first_day_in_any_cohort(days, band):
    """A year is 365 days here; one to two years end before the third is full."""
    assert training_age(TODAY - dt.timedelta(days=days), TODAY) == TrainingAge(band)


def test_the_usual_start_is_the_first_exercise_a_quarter_or_half_of_the_way(pathway):
    """Five exercises, so four steps: none, one and two of them."""
    (starts,) = starting_profile()
    assert [str(each.exercise) for each in starts.starts] == ["Sofa squat", "Half squat", "Squat"]


def test_everybody_without_a_placement_starts_on_all_pathways_by_training_age(
    cast, coach, group, pathway, landing, squats
):
    lea = ChildFactory(given_name="Lea", cohort=cast.cohort)
    began(cast.child, 10)
    began(lea, 500)
    place(lea, landing, landing.steps.get().harder, cast.coach)
    answer = coach.get(group)
    assert_well_made(answer)
    read = text(answer)
    assert "Age never decides" in read
    assert "house rule" in read
    assert coach.post(group, {"counted_as": ""}).status_code == 302
    assert stands(cast.child) == {"squat": ("sofa-squat", False), "land": ("snap-down", False)}
    assert stands(lea) == {"squat": ("half-squat", False), "land": ("small-jump", True)}
    assert coach.post(group, {"counted_as": ""}).status_code == 302
    assert Placement.objects.count() == 4


def test_a_coach_may_count_them_all_as_of_one_training_age(cast, coach, group, pathway):
    began(cast.child, 0)
    coach.post(group, {"counted_as": "longer"})
    assert stands(cast.child) == {"squat": ("squat", False)}


def test_a_head_coach_changes_where_they_start(cast, client_for, group, pathway, squats):
    head = client_for(cast.head_coach)
    profile = reverse("athletes:starting_profile")
    assert_well_made(head.get(profile))
    head.post(profile, {"squat-new": "half-squat", "squat-some": "half-squat", "squat-longer": ""})
    point = StartingPoint.objects.get()  # what is usual is not kept
    assert (point.training_age, point.exercise, point.by) == ("new", squats[1], cast.head_coach)
    head.post(group, {"counted_as": "new"})
    assert stands(cast.child) == {"squat": ("half-squat", False)}
    squats[1].status = "retired"
    squats[1].save()
    assert str(starting_profile()[0].starts[0].exercise) == "Sofa squat"


def test_placing_many_takes_no_more_queries_than_placing_few(cast, coach, group, pathway, landing):
    def queries_for(count: int) -> int:
        for _ in range(count):
            ChildFactory(cohort=cast.cohort)
        with CaptureQueriesContext(connection) as asked:
            coach.post(group, {"counted_as": "new"})
        return len(asked)

    queries_for(1)
    assert queries_for(2) == queries_for(9)


def test_placing_a_child_where_it_was_started_is_seeing_it(cast, coach, group, pathway, squats):
    coach.post(group, {"counted_as": "new"})
    place(cast.child, pathway, squats[0], cast.coach)
    assert stands(cast.child) == {"squat": ("sofa-squat", True)}
    seen = Placement.objects.current().get()
    assert seen.placed_by == cast.coach
    assert undo_placement(seen)
    assert stands(cast.child) == {"squat": ("sofa-squat", False)}


def test_the_board_says_who_was_not_seen_and_all_of_an_exercise_are_seen_at_once(
    cast, coach, group, pathway, squats
):
    lea = ChildFactory(given_name="Lea", cohort=cast.cohort)
    place(lea, pathway, squats[1], cast.coach)
    coach.post(group, {"counted_as": "new"})
    board = reverse("athletes:placements", args=[cast.cohort.pk, "squat"])
    read = text(coach.get(board))
    assert "Mira T. to the harder Half squat not seen yet" in read
    assert read.count("not seen yet") == 1
    coach.post(f"{board}seen/", {"at": "half-squat"})
    assert stands(cast.child) == {"squat": ("sofa-squat", False)}
    coach.post(f"{board}seen/", {"at": "sofa-squat"})
    assert stands(cast.child) == {"squat": ("sofa-squat", True)}
    assert "not seen yet" not in text(coach.get(board))


def test_a_childs_page_says_what_was_not_seen_and_one_click_says_that_it_was(
    cast, coach, group, pathway, landing
):
    coach.post(group, {"counted_as": "new"})
    page = reverse("program:child_review", args=[cast.child.public_id])
    assert text(coach.get(page)).count("not seen yet") == 2
    seen = reverse("athletes:seen_placements", args=[cast.child.public_id])
    coach.post(seen, {"pathway": "land"})
    assert stands(cast.child) == {"squat": ("sofa-squat", False), "land": ("snap-down", True)}
    coach.post(seen)
    assert {seen for _, seen in stands(cast.child).values()} == {True}


def test_placing_by_what_was_seen_leaves_what_was_not_seen_alone(cast, coach, group, pathway):
    coach.post(group, {"counted_as": "new"})
    form = coach.get(reverse("athletes:first_placement", args=[cast.child.public_id]))
    assert form.context["form"].fields["on-squat"].initial == ""


def test_what_was_seen_meanwhile_is_seen_once(cast, coach, group, pathway):
    coach.post(group, {"counted_as": "new"})
    placements = list(Placement.objects.all())
    assert len(see_as_they_stand(placements, cast.coach)) == 1
    assert see_as_they_stand(placements, cast.coach) == []
