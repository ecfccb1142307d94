"""The whole loop in one go: build, fit, publish, do, log, review, and fit anew."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from program.models import Session
from tests.support.factories import (
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    ItemFactory,
    PathwayFactory,
    SessionFactory,
)
from tests.support.screens import PHONE, WITH_A_WORKER
from tests.support.sliding import has

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def library(db):
    """Heel walk-out and, a step harder and on tiles only, heel slide; and a bear crawl."""
    tiles = [("a smooth floor for sliding", ["smooth-floor"])]
    walk = ExerciseFactory(slug="heel-walk-out", revision__name="Heel walk-out")
    slide = ExerciseFactory(
        slug="heel-slide", revision__name="Heel slide, out and in", revision__needs=tiles
    )
    PathwayFactory(slug="slides", name="Slides", chain=[walk, slide])
    ExerciseFactory(revision__name="Bear crawl", revision__measure="seconds", revision__tempo="")
    ItemFactory(slug="carpet", kind="floor")


@pytest.fixture
def session(cast, library) -> Session:
    """An empty session for today; one family has carpet, the other tiles."""
    today = timezone.localdate()
    cast.tiled = ChildFactory(given_name="Tiled", cohort=cast.cohort)
    for child, floor in ((cast.child, "carpet"), (cast.tiled, "smooth-floor")):
        has(child, floor)
    block = BlockFactory(
        cohort=cast.cohort, starts_on=today, ends_on=today + timezone.timedelta(days=27)
    )
    return SessionFactory(block=block, name="Strong steps, long back", date=today)


def add(page, exercise):
    """Type an exercise into the part's search field and take the first that is found."""
    field = page.locator("[data-find]").last
    # Typed, not filled at one stroke: a field just drawn listens a moment after it is seen.
    field.press_sequentially(exercise, delay=30)
    page.locator(".found-one", has_text=exercise).first.click()
    expect(page.locator(".slot-name", has_text=exercise)).to_be_visible()


def choose(page, question, answer):
    page.get_by_role("group", name=question).get_by_text(answer, exact=True).click()


def test_a_coach_builds_a_week_a_child_does_it_and_the_coach_sees_what_happened(
    cast, session, browse
):
    coach = browse(cast.coach, **WITH_A_WORKER)
    coach.goto(reverse("program:build", args=[session.pk]))
    coach.get_by_role("button", name="superset").click()
    add(coach, "Heel slide")
    add(coach, "Bear crawl")
    expect(coach.get_by_text("1 as written · 1 easier")).to_be_visible()
    coach.get_by_text("Who and why").click()
    expect(coach.get_by_text("no smooth floor for sliding: heel walk-out instead")).to_be_visible()
    coach.get_by_role("button", name="Publish to 2").click()
    expect(coach.get_by_text(re.compile("2 children"))).to_be_visible()

    parent = browse(cast.guardian, PHONE, **WITH_A_WORKER)
    parent.goto("/")
    expect(parent.get_by_role("heading", name="Strong steps, long back")).to_be_visible()
    expect(
        parent.get_by_text(
            "There is no smooth floor for sliding, so it is heel walk-out this time."
        )
    ).to_be_visible()
    parent.get_by_role("link", name="Read it first").click()
    expect(parent.get_by_role("heading", name="Heel walk-out")).to_be_visible()
    parent.go_back()
    parent.get_by_role("link", name="Log it").click()
    choose(parent, "How hard was it?", "getting warm")
    choose(parent, "Did something hurt, or were you not well?", "yes")
    parent.get_by_label("Where, or what?").select_option(label="knee")
    choose(parent, "Which side?", "left")
    choose(parent, "How much?", "4")
    parent.get_by_role("button", name="Save the log").click()
    expect(parent.get_by_text("The coach is told what hurt.")).to_be_visible()

    coach.goto(reverse("program:review"))
    expect(coach.get_by_role("heading", name="Left knee, 4 of 10")).to_be_visible()
    coach.goto(reverse("program:child_review", args=[cast.child.public_id]))
    expect(coach.get_by_text(re.compile("effort 4", re.IGNORECASE)).first).to_be_visible()
