"""An exercise's figure is where a coach or a child looks for it."""

import re

import pytest
from django.urls import reverse

from library.figures.movement import slugs
from library.models import Exercise
from tests.support.factories import ExerciseFactory, PartFactory
from tests.support.family import EVENING, assign, give
from tests.support.markup import markup
from tests.support.planning import session_of, url

pytestmark = pytest.mark.django_db

SQUAT = "/library/figures/free-squat.svg"


@pytest.fixture(autouse=True)
def evening(monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: EVENING)


@pytest.fixture
def session(cast):
    """A child's session of twelve exercises, all of them drawn."""
    session = assign(cast.child)
    for place, slug in enumerate(["free-squat", *slugs()[:11]]):
        slot = give(session, slug, place=place, tempo="3-1-1-0")
        Exercise.objects.filter(pk=slot.revision.exercise_id).update(slug=slug)
    return session


def images(answer) -> list[str]:
    assert answer.status_code == 200
    return re.findall(r"<img [^>]+>", markup(answer))


def of_squat(answer) -> list[str]:
    return [image for image in images(answer) if SQUAT in image]


def test_on_an_exercises_page_it_moves(cast, client_for):
    ExerciseFactory(slug="free-squat")
    answer = client_for(cast.coach).get(reverse("library:exercise", args=["free-squat"]))
    (image,) = of_squat(answer)
    assert "figure-large" in image
    assert "still" not in image
    assert f'(prefers-reduced-motion: reduce)" srcset="{SQUAT}?side=left&amp;pair"' in (
        markup(answer)
    )


def test_in_the_builders_search_it_stands_still(cast, client_for):
    ExerciseFactory(slug="free-squat", revision__name="Free squat")
    session = session_of(cast.cohort)
    part = PartFactory(session=session, position=1)
    address = url("find", session, part.pk)
    (image,) = of_squat(client_for(cast.coach).get(address, {"q": "free"}))
    assert "still" in image


def test_in_a_familys_session_it_moves_at_the_tempo_of_that_child(cast, client_for, session):
    address = reverse("program:read", args=[session.child.public_id, session.public_id])
    (image,) = of_squat(client_for(cast.guardian).get(address))
    assert "tempo=3-1-1-0" in image


def test_on_a_sheet_of_paper_the_start_stands_beside_the_end_and_waits_for_nobody(
    cast, client_for, session
):
    address = reverse("program:sheet", args=[session.child.public_id, session.public_id])
    (image,) = of_squat(client_for(cast.guardian).get(address))
    assert "pair" in image
    assert "lazy" not in image


def test_in_the_follow_along_it_moves_at_the_tempo_that_is_counted(cast, client_for, session):
    address = reverse("program:follow", args=[session.child.public_id, session.public_id])
    assert f"{SQUAT}?side=left" in markup(client_for(cast.guardian).get(address))


def test_twelve_figures_are_fetched_only_as_somebody_comes_to_them(cast, client_for, session):
    """What that saves is measured by the benchmark of the family page."""
    address = reverse("program:read", args=[session.child.public_id, session.public_id])
    shown = [image for image in images(client_for(cast.guardian).get(address)) if ".svg" in image]
    assert len(shown) == 12
    assert all('loading="lazy"' in image for image in shown)
