"""A stop names the children it means, and leads to placing them."""

import pytest
from django.urls import reverse

from athletes.models import Placement
from program.checks.session_checks import results_for_session
from program.models import Session, Slot
from program.publish.publishing import PublishNeedsReason, publish
from tests.support.factories import ChildFactory, ExerciseFactory, PathwayFactory
from tests.support.family import EVENING
from tests.support.planning import session_of, url

pytestmark = pytest.mark.django_db
BECAUSE = "All of them landed well; I watched."


@pytest.fixture
def landing(cast):
    session = session_of(cast.cohort, slots=1, needing=False, name="Hops")
    exercise = ExerciseFactory(
        slug="hop", revision__name="Hop", revision__pattern="land", revision__contacts=1
    )
    Slot.objects.filter(part__session=session).update(exercise=exercise)
    return session


@pytest.fixture
def pathway(landing):
    hop = Slot.objects.get(part__session=landing).exercise
    drop = ExerciseFactory(slug="snap-down", revision__name="Snap down")
    return PathwayFactory(slug="landing", name="Landing", pattern="land", chain=[drop, hop])


def page_of(client, session):
    version = Session.objects.values_list("version", flat=True).get(pk=session.pk)
    return client.post(url("publish", session), {"version": version}).content.decode()


def placing(session):
    return reverse("program:place_on_landing", args=[session.pk])


def stops_of(session):
    found = results_for_session(Session.objects.with_plan().get(pk=session.pk))
    return [each for each in found if each.is_open_stop]


def test_two_are_named_and_the_rest_counted(cast, coach, landing):
    for name in ("Ada", "Ben", "Cleo", "Dora"):
        ChildFactory(given_name=name, cohort=cast.cohort)
    html = page_of(coach, landing)
    assert "Ada T., Ben T. and 3 more are not placed on landing." in html
    assert placing(landing) in html
    assert "Ada T., Ben T. and 3 more" in coach.get(url("look", landing)).content.decode()


def test_a_single_child_is_named_alone(coach, landing):
    assert "Mira T. is not placed on landing." in page_of(coach, landing)


def test_placing_them_there_leads_back_and_the_stop_is_gone(cast, coach, landing, pathway):
    ben = ChildFactory(given_name="Ben", cohort=cast.cohort)
    html = coach.get(placing(landing)).content.decode()
    assert "Mira T." in html
    assert "Ben T." in html
    said = {f"child-{cast.child.pk}": "landing:snap-down", f"child-{ben.pk}": ""}
    answer = coach.post(placing(landing), said | {"why": "Seen on Monday."})
    assert answer.headers["Location"] == url("build", landing)
    placed = Placement.objects.current().get(child=cast.child)
    assert (placed.exercise.slug, placed.placed_by, placed.why) == (
        "snap-down", cast.coach, "Seen on Monday."
    )  # fmt: skip
    assert "Ben T. is not placed on landing." in page_of(coach, landing)
    coach.post(placing(landing), {f"child-{ben.pk}": "landing:hop"})
    assert not stops_of(landing)


def test_each_landing_to_choose_is_shown_with_its_figure(coach, landing, pathway):
    """By name alone nobody knows a snap-down from a hop; the number leads from one to the other."""
    html = coach.get(placing(landing)).content.decode()
    figures, _, choices = html.partition("<select")
    assert reverse("library:figure", args=["snap-down"]) in figures
    assert 'value="landing:snap-down">1 · Snap down</option>' in choices
    assert 'value="landing:hop">2 · Hop</option>' in choices


@pytest.mark.parametrize("choice", ["landing:no-such", "squats:hop", "x"])
def test_only_an_exercise_of_a_landing_pathway_is_taken(coach, cast, landing, pathway, choice):
    answer = coach.post(placing(landing), {f"child-{cast.child.pk}": choice})
    assert answer.status_code == 422
    assert not Placement.objects.exists()


def test_a_child_of_another_cohort_is_not_placed_by_its_number(cast, coach, landing, pathway):
    coach.post(placing(landing), {f"child-{cast.other_child.pk}": "landing:hop"})
    assert not Placement.objects.exists()


def test_another_cohorts_coach_neither_sees_nor_places_them(cast, client_for, landing, pathway):
    stranger = client_for(cast.other_coach)
    assert stranger.get(placing(landing)).status_code == 404


def test_a_reason_for_one_child_is_none_for_another(cast, landing):
    """The sentence counts one child each time: it is whom it counts that matters."""
    publish(landing, cast.coach, EVENING, because=BECAUSE)
    assert landing.stop_reasons.get().children == [cast.child.pk]
    cast.child.enrolments.all().delete()
    ChildFactory(given_name="Ben", cohort=cast.cohort)
    with pytest.raises(PublishNeedsReason):
        publish(landing, cast.coach, EVENING)
    publish(landing, cast.coach, EVENING, because="Ben landed well; I watched.")
    assert landing.stop_reasons.count() == 2
