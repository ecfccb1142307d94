"""A new program's head coach reads what comes next, with what is left, until all of it is done."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.changes import answer_kit, place
from library.models import Item
from program.models import Session
from program.week.first_steps import first_steps
from program.week.page import week_of
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    CohortFactory,
    ExerciseFactory,
    PathwayFactory,
    SessionFactory,
    UserFactory,
)
from tests.support.family import WEDNESDAY, text
from tests.support.planning import MOST_QUERIES, queries_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("evening")]


@pytest.fixture
def head():
    return UserFactory(name="New Head", role="head_coach")


def left(head):
    steps = first_steps(head, week_of(head, MONDAY, WEDNESDAY))
    return {step.name: step.left for step in steps.left}


def test_a_program_with_nobody_begins_with_a_cohort(head, client_for):
    assert left(head) == {
        "Cohorts": "none yet",
        "Children": "none yet",
        "Families": "none yet",
        "What is at home": "none yet",
        "Placement": "none yet",
        "Block": "none yet",
        "Session": "none yet",
        "Published": "none yet",
    }
    page = text(client_for(head).get(reverse("program:week")))
    assert "What comes next" in page
    assert "Make a cohort" in page


def test_what_is_left_is_counted_and_a_step_that_is_done_stands_as_done(head):
    frogs, larks = CohortFactory(name="Frogs"), CohortFactory(name="Larks")
    parent = UserFactory(name="Parent")
    ada, bo = (ChildFactory(cohort=frogs, guardian=parent if n else None) for n in range(2))
    BlockFactory(cohort=frogs)
    assert left(head) == {
        "Children": "1 of 2 cohorts without any",
        "Families": "1 of 2 not signed in",
        "What is at home": "2 of 2 not answered",
        "Placement": "2 of 2 not placed",
        "Block": "1 of 2 cohorts without one",
        "Session": "2 of 2 cohorts without one",
        "Published": "2 of 2 cohorts without one",
    }
    squat = ExerciseFactory()
    pathway = PathwayFactory(chain=[squat, ExerciseFactory()])
    for child in (ada, bo):
        answer_kit(child, Item.objects.none(), parent)
        place(child, pathway, squat, head)
    ada.guardianships.create(guardian=parent)
    for cohort in (frogs, larks):
        ChildFactory(cohort=cohort, guardian=parent)
        SessionFactory(block=BlockFactory(cohort=cohort), date=WEDNESDAY)
    assert left(head) == {
        "What is at home": "2 of 4 not answered",
        "Placement": "2 of 4 not placed",
        "Published": "2 of 2 cohorts without one",
    }


def test_it_goes_once_all_is_done_or_the_program_has_run_for_four_weeks(head, cast):
    assert left(head)
    SessionFactory(block=BlockFactory(cohort=cast.cohort), date=WEDNESDAY)
    Session.objects.update(published_at=timezone.now() - dt.timedelta(days=27), published_version=1)
    assert left(head)["Placement"] == "2 of 2 not placed"
    Session.objects.update(published_at=timezone.now() - dt.timedelta(days=29))
    assert left(head) == {}
    assert first_steps(cast.coach, week_of(cast.coach, MONDAY, WEDNESDAY)).left == []


def test_the_first_page_of_a_head_coach_stays_within_its_queries(head, cast, client_for):
    client = client_for(head)
    address = reverse("program:week")
    few = queries_of(client, address)
    for _ in range(3):
        ChildFactory(cohort=CohortFactory())
    assert queries_of(client, address) == few <= MOST_QUERIES
