"""A new program's head coach reads what comes next, with what is left, until all of it is done."""

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.changes import answer_kit, place
from library.models import Item
from program.models import Session
from program.week.first_steps import first_steps
from tests.support.factories import (
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


def a_pathway():
    squat = ExerciseFactory()
    return PathwayFactory(chain=[squat, ExerciseFactory()]), squat


def left(head):
    steps = first_steps(head, WEDNESDAY)
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
        "Session": "none yet",
        "Published": "none yet",
    }
    pathway, squat = a_pathway()
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
        "Published": "none yet",
    }


def test_it_goes_once_all_is_done_or_the_program_has_run_for_four_weeks(head, cast):
    assert left(head)
    SessionFactory(block=BlockFactory(cohort=cast.cohort), date=WEDNESDAY)
    Session.objects.update(published_at=timezone.now() - dt.timedelta(days=27), published_version=1)
    assert left(head)["Placement"] == "2 of 2 not placed"
    Session.objects.update(published_at=timezone.now() - dt.timedelta(days=29))
    assert left(head) == {}
    assert first_steps(cast.coach, WEDNESDAY).left == []


def test_the_first_page_of_a_head_coach_stays_within_its_queries(head, cast, client_for):
    client = client_for(head)
    address = reverse("program:week")
    few = queries_of(client, address)
    for _ in range(3):
        ChildFactory(cohort=CohortFactory())
    assert queries_of(client, address) == few <= MOST_QUERIES


def says_next(client, page, *ids):
    """The line on a step's page, and where it leads."""
    html = client.get(reverse(page, args=ids), follow=True).content.decode()
    line = re.search(r'<p class="next-step.*?</p>', html, re.DOTALL)
    if line is None:
        return "", ""
    words = " ".join(re.sub(r"<[^>]+>", "", line[0]).split())
    link = re.search(r'href="([^"]+)"', line[0])
    return words, link[1] if link else ""


def test_each_steps_page_says_what_is_left_of_it_and_leads_to_the_next(head, client_for):
    client = client_for(head)
    assert says_next(client, "athletes:new_cohort") == ("", "")
    cohort = CohortFactory()
    done = "Cohorts: done. Next: Add children from a file"
    assert says_next(client, "athletes:people") == (done, reverse("athletes:import"))
    parent = UserFactory(name="Parent")
    ada, bo = ChildFactory(cohort=cohort, guardian=parent), ChildFactory(cohort=cohort)
    done = "Children: done. Next: Invite families"
    assert says_next(client, "athletes:import") == (done, reverse("athletes:children"))
    left = "Families: 1 of 2 not signed in. After it: Say what is at home"
    assert says_next(client, "athletes:children") == (left, reverse("athletes:all_kits"))
    for child in (ada, bo):
        answer_kit(child, Item.objects.none(), parent)
    done = "What is at home: done. Next: Place children"
    placements = reverse("athletes:all_placements")
    assert says_next(client, "athletes:kits", cohort.pk) == (done, placements)
    place(ada, *a_pathway(), head)
    left = "Placement: 1 of 2 not placed. After it: Make a block"
    new_block = reverse("program:block_new")
    assert says_next(client, "athletes:place_group", cohort.pk) == (left, new_block)
    block = BlockFactory(cohort=cohort)
    blocks = reverse("program:blocks")
    assert says_next(client, "program:block_new") == ("Block: done. Next: Write a session", blocks)
    session = SessionFactory(block=block, date=WEDNESDAY)
    ahead = reverse("program:week_ahead")
    assert says_next(client, "program:blocks") == ("Block: done. Next: Publish the week", ahead)
    Session.objects.update(published_at=timezone.now(), published_version=1)
    # What is left before it is for the first page to tell.
    assert says_next(client, "program:build", session.pk) == ("", "")


def test_nobody_else_reads_it_and_a_program_that_has_run_for_weeks_pays_one_query(
    head, cast, client_for, monkeypatch
):
    """What is published is three weeks old, then five: until then two queries, then one."""
    SessionFactory(block=BlockFactory(cohort=cast.cohort), date=WEDNESDAY)
    page = "athletes:people"
    client = client_for(head)
    found = []
    for weeks in (3, 5):
        at = timezone.now() - dt.timedelta(weeks=weeks)
        Session.objects.update(published_at=at, published_version=1)
        found.append((bool(says_next(client, page)[0]), queries_of(client, reverse(page))))
    assert says_next(client_for(cast.coach), "athletes:children") == ("", "")
    monkeypatch.setattr("program.week.first_steps.STEPS_AT", {})
    plain = queries_of(client, reverse(page))
    assert found == [(True, plain + 2), (False, plain + 1)]


def test_the_page_of_a_step_about_sessions_asks_nothing_of_the_children(
    head, cast, client_for, monkeypatch
):
    SessionFactory(block=BlockFactory(cohort=cast.cohort), date=WEDNESDAY)
    client, address = client_for(head), reverse("program:blocks")
    assert says_next(client, "program:blocks")[0] != ""
    here = queries_of(client, address)
    monkeypatch.setattr("program.week.first_steps.STEPS_AT", {})
    assert here == queries_of(client, address) + 1
