"""What does not fit, decided: once for all who are alike, by mouse or by keyboard alone."""

import datetime as dt

import pytest
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Page, expect

from athletes.models import Child, HomeKit
from library.models import Exercise, Item
from program.models import AssignedSession, Session, StandingDecision
from tests.support.factories import (
    BlockFactory,
    ChildFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.interactions import Counted

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Thirty children in four kinds of home; the last have not said what is there.
HOMES = (
    (10, "skipping-rope dining-chair sofa sturdy-table towel socks plastic-lid wall backpack books "
         "water-bottle cushion broomstick smooth-floor mat-space lane-space high-space"),
    (8, "dining-chair sofa towel plastic-lid wall backpack books cushion carpet mat-space"),
    (6, "dining-chair towel wall water-bottle books sturdy-table"),
    (6, None),
)  # fmt: skip

# Eleven exercises each, nothing that lands: who may land is the placing's to say.
WEEK = (
    "rope-side-swing ankle-rock goblet-squat towel-slide-lower table-push plank supported-row "
    "one-leg-deadlift side-plank wall-hand-walk open-book",
    "wall-toe-lift bird-dog step-down glute-bridge sofa-push dead-bug towel-door-row "
    "backpack-deadlift knee-squeeze crab-lift seated-turn",
    "rope-side-swing lunge-turn overhead-squat towel-curl floor-push body-saw table-row "
    "wall-tap-hinge adductor-plank-knee bear-crawl ninety-ninety",
)


@pytest.fixture
def club(cast):
    """Thirty children in one cohort, and a block that begins today."""
    call_command("load_library")
    items = {item.slug: item for item in Item.objects.all()}
    Child.objects.filter(pk=cast.child.pk).delete()
    for count, home in HOMES:
        for _ in range(count):
            child = ChildFactory(cohort=cast.cohort, birth_date=dt.date(2014, 5, 1))
            if home is not None:
                kit = HomeKit.objects.create(child=child)
                kit.items.set(items[slug] for slug in home.split())
    today = timezone.localdate()
    return BlockFactory(cohort=cast.cohort, starts_on=today, ends_on=today + dt.timedelta(weeks=4))


def written(block, week: int) -> list[Session]:
    """The week's sessions, as a copy of the first week has them."""
    exercises = {each.slug: each for each in Exercise.objects.all()}
    sessions = []
    for day, slugs in enumerate(WEEK):
        on = block.starts_on + dt.timedelta(weeks=week, days=2 * day)
        session = SessionFactory(block=block, name=f"Session {day + 1}", date=on)
        part = PartFactory(session=session)
        for position, slug in enumerate(slugs.split()):
            exercise = exercises[slug]
            SlotFactory(part=part, position=position, exercise=exercise, amount=5, tempo="")
        sessions.append(session)
    return sessions


def decide_all(counted: Counted, session: Session) -> None:
    """Open the table, take the first answer of each group, and send it to everybody."""
    page: Page = counted.page
    page.goto(f"/sessions/{session.pk}/")
    counted.follow(
        page.get_by_role("link", name="Decide")
        .or_(page.get_by_role("link", name="Who gets what"))
        .first
    )
    while page.locator("[data-open-group]").count():
        counted.follow(page.locator("[data-open-group] button").first)


def test_the_first_week_is_decided_in_forty_interactions_and_every_later_one_in_five(
    cast, club, browse_faultless
):
    page = browse_faultless(cast.coach)
    first = Counted(page)
    for session in written(club, 0):
        decide_all(first, session)
        first.click(page.get_by_role("button", name="Send to 30"))
        expect(page.locator(".messages")).to_contain_text("30 children got it")
    later = Counted(page)
    for session in written(club, 1):
        decide_all(later, session)
    print(f"deciding: first week {first.count} interactions, the week after {later.count}")
    assert AssignedSession.objects.count() == 90
    assert first.count <= 40
    assert later.count <= 5


def test_a_place_is_decided_with_the_keyboard_alone(cast, club, browse_faultless):
    session = written(club, 0)[0]
    page = browse_faultless(cast.coach)
    page.goto(f"/sessions/{session.pk}/fit/")
    open_places = page.locator(".fit-cell-undecided a")
    before = open_places.count()
    open_places.first.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowUp")
    expect(open_places.first).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("[data-decision] input[type=radio]").first).to_be_focused()
    page.keyboard.press("Escape")
    expect(open_places.first).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("[data-decision] input[type=radio]").first).to_be_focused()
    page.keyboard.press("1")
    page.keyboard.press("a")
    page.keyboard.press("Control+Enter")
    expect(page.locator(".messages")).to_contain_text("your choice is kept")
    assert StandingDecision.objects.count() > 1
    expect(open_places).to_have_count(before - StandingDecision.objects.count())
