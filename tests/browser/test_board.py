"""A coach lays out a block: from nothing to eight weeks, checked, moved, copied and published."""

import datetime as dt
import re

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from program.models import AssignedSession, Block, Session
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ExerciseFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.finger import Finger
from tests.support.interactions import Counted
from tests.support.screens import DESK, PHONE, TABLET

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WEEK = dt.timedelta(weeks=1)


@pytest.fixture
def desk(browse, cast):
    """Opens an address as the owning coach."""

    def opened(address):
        page = browse(cast.coach)
        page.goto(address)
        return page

    return opened


def press(hand, role, name):
    """Click the first button or link that is called so."""
    hand.click(hand.page.get_by_role(role, name=name).first)


def write(hand, label, text):
    """Fill the field that is called so; where the page has two, the form's own."""
    hand.type(hand.page.get_by_label(label, exact=True).last, text)


def key(hand, where, keys):
    """Press where somebody has got to."""
    where.focus()
    hand.press(keys)


def add_exercise(hand, part, name):
    """Type it into the part and take the first that is found."""
    hand.type(hand.page.get_by_label(f"Add an exercise to {part}"), name)
    press(hand, "button", name)
    expect(hand.page.get_by_role("heading", name=name, exact=True)).to_be_visible()


def expect_resolved(look, words):
    """The checks looked again, and do not say it any more; while they look they say nothing."""
    expect(look).not_to_contain_text(words)
    expect(look.get_by_role("link", name="All checks")).to_be_visible()
    expect(look).not_to_contain_text(words)


def test_eight_weeks_from_an_empty_block_in_under_sixty_interactions(desk, cast):
    easy = ExerciseFactory(revision__name="Calm squat")
    PathwayFactory(chain=[easy, ExerciseFactory(revision__name="Split squat")])
    ExerciseFactory(revision__name="Wall push", revision__pattern="push")
    ExerciseFactory(
        revision__name="March on the spot",
        revision__pattern="mobility",
        revision__measure="seconds",
        revision__usual=150,
        revision__low=60,
        revision__high=240,
        revision__tempo="",
    )
    page = desk(reverse("program:blocks"))
    hand = Counted(page)

    # 7: the block.
    press(hand, "link", "New block")
    hand.choose(page.get_by_label("Cohort"), "Own cohort")
    write(hand, "Name*", "Strong winter")
    write(hand, "First day*", MONDAY.isoformat())
    write(hand, "Last day*", (MONDAY + dt.timedelta(days=55)).isoformat())
    press(hand, "button", "Make the block")

    # The first session, without a warm-up and with an amount that is too much.
    press(hand, "link", "Write the first session")
    write(hand, "Name*", "Steps and pushes")
    write(hand, "Day*", (MONDAY + dt.timedelta(days=1)).isoformat())
    press(hand, "button", "Make the session")
    press(hand, "button", "superset")
    add_exercise(hand, "Part 1", "Calm squat")
    add_exercise(hand, "Part 1", "Wall push")
    amount = page.locator(".slot input[name=amount]").first
    hand.type(amount, "30")
    key(hand, amount, "Tab")

    # Two checks fire ...
    look = page.locator("#panel")
    expect(look).to_contain_text("There is no warm-up.")
    expect(look).to_contain_text("30 is outside the 6 to 15")

    # ... and are resolved.
    hand.type(amount, "8")
    key(hand, amount, "Tab")
    expect_resolved(look, "is outside the 6 to 15")
    press(hand, "button", "warm-up")
    expect(page.get_by_label("Name of the part").last).to_have_value("Warm-up")
    add_exercise(hand, "Warm-up", "March on the spot")
    press(hand, "button", "Duplicate March on the spot")
    expect(page.locator(".slot")).to_have_count(4)
    press(hand, "button", "Move up Warm-up")
    expect(page.get_by_label("Name of the part").first).to_have_value("Warm-up")
    expect_resolved(look, "There is no warm-up.")

    # Week 1 gets a second day; every other week gets what the first one holds, and more of it.
    press(hand, "link", "Strong winter")
    cell = page.get_by_role("link", name="Steps and pushes")
    hand.click(page.get_by_text("move or copy"))
    press(hand, "button", "Copy to the week after")
    expect(page.locator(".notice")).to_contain_text("was copied")
    key(hand, cell.last, "Alt+ArrowLeft")
    expect(page.locator(".notice")).to_contain_text("went from")
    key(hand, cell.last, "Alt+ArrowDown")
    expect(page.locator(".notice")).to_contain_text("Wednesday 4 November")
    key(hand, cell.last, "Alt+ArrowDown")
    expect(page.locator(".notice")).to_contain_text("to Thursday 5 November")
    press(hand, "link", "Copy week 1")
    hand.click(page.get_by_label("all weeks after it", exact=True))
    hand.click(page.get_by_label("2 more repetitions", exact=True))
    expect(page.locator("#preview")).to_contain_text("Calm squat: 8 times to 12 times")
    press(hand, "button", "Make 14 drafts")
    expect(page.locator(".cell")).to_have_count(16)

    press(hand, "button", "Publish week 1")
    expect(page.locator(".messages")).to_contain_text("1 child got it")

    print(f"eight weeks from an empty block: {hand.count} interactions")
    assert hand.count < 60
    block = Block.objects.get(name="Strong winter")
    days = sorted((s.date - MONDAY).days for s in block.sessions.all())
    assert days == sorted(week * 7 + day for week in range(8) for day in (1, 3))
    out = AssignedSession.objects.values_list("date", flat=True)
    assert {block.week_of(day) for day in out} == {1}


def test_going_back_after_making_a_block_changes_that_block(desk, cast):
    page = desk(reverse("program:block_new"))
    page.get_by_label("Cohort").select_option(label="Own cohort")
    page.get_by_label("Name*", exact=True).fill("Strong winter")
    page.get_by_label("First day*", exact=True).fill(MONDAY.isoformat())
    page.get_by_label("Last day*", exact=True).fill((MONDAY + 4 * WEEK).isoformat())
    page.get_by_role("button", name="Make the block").click()
    expect(page.get_by_role("heading", name="Strong winter")).to_be_visible()
    page.go_back()
    expect(page.locator(".messages")).to_contain_text("“Strong winter” was made here already")
    page.get_by_label("Name*", exact=True).fill("Strong spring")
    page.get_by_role("button", name="Save the block").click()
    expect(page.get_by_role("heading", name="Strong spring")).to_be_visible()
    assert [block.name for block in Block.objects.all()] == ["Strong spring"]


def test_a_session_is_dragged_copied_by_drag_and_taken_back(desk, cast):
    block = BlockFactory(cohort=cast.cohort)
    for number in range(2):
        SlotFactory(
            part__session=SessionFactory(
                block=block, name=f"Session {number}", date=MONDAY + number * WEEK
            )
        )
    page = desk(reverse("program:block", args=[block.pk]))
    page.set_viewport_size({"width": 1280, "height": 800})

    def day(number):
        return page.locator(f"[data-day='{MONDAY + dt.timedelta(days=number)}']")

    cell = page.locator(".cell", has_text="Session 0")
    cell.drag_to(day(9))
    expect(page.locator(".notice")).to_contain_text("to Wednesday 11 November")
    expect(day(9).locator(".cell")).to_have_count(1)

    page.keyboard.down("Control")
    cell.drag_to(day(2))
    page.keyboard.up("Control")
    expect(page.locator(".notice")).to_contain_text("was copied to Wednesday 4 November")
    expect(page.locator(".cell")).to_have_count(3)

    # Somebody else opens another one and changes it; moving it from here is told, not done.
    Session.objects.filter(name="Session 1").update(version=5)
    page.get_by_role("link", name="Session 1").press("Alt+ArrowRight")
    expect(page.locator(".notice")).to_contain_text("was changed since you saw it")

    page.get_by_role("button", name="Take it back: Session 0 was copied").click()
    expect(page.locator(".cell")).to_have_count(2)
    # The newest change of one's own, by the keyboard; in a text field the keys are the field's.
    assert Session.objects.get(name="Session 0").date != MONDAY
    page.keyboard.press("Control+z")
    expect(day(0).locator(".cell")).to_have_count(1)
    assert sorted(s.date for s in block.sessions.all()) == [MONDAY, MONDAY + WEEK]

    # On a phone the same weeks stand below each other, inside the screen.
    page.set_viewport_size({"width": 390, "height": 800})
    width = page.evaluate("document.documentElement.scrollWidth")
    assert width == 390
    first, second = (page.locator(".board-week").nth(at).bounding_box() for at in (0, 1))
    assert first["y"] + first["height"] <= second["y"]


@pytest.mark.parametrize("viewport", [TABLET, PHONE], ids=["tablet", "phone"])
def test_a_session_is_carried_to_another_day_by_a_finger(browse, cast, viewport):
    block = BlockFactory(cohort=cast.cohort)
    SlotFactory(part__session=SessionFactory(block=block, name="Hops", date=MONDAY))
    page = browse(cast.coach, viewport, has_touch=True, is_mobile=True)
    page.goto(reverse("program:block", args=[block.pk]))
    finger, hops = Finger(page), page.get_by_role("link", name="Hops", exact=True)
    # A day that stands empty, and on a phone shows itself only to what is carried.
    wednesday = page.locator(f"[data-day='{MONDAY + dt.timedelta(days=2)}']")
    finger.carry(hops, wednesday)
    expect(page.locator(".notice")).to_contain_text("to Wednesday 4 November")
    expect(page.locator(".carried")).to_have_count(0)
    expect(page).to_have_url(re.compile(f"/blocks/{block.pk}/$"))  # the link was not followed
    assert block.sessions.get().date == MONDAY + dt.timedelta(days=2)


def test_a_finger_that_does_not_wait_scrolls_and_moves_nothing(browse, cast):
    block = BlockFactory(cohort=cast.cohort)
    for week in range(4):
        session = SessionFactory(block=block, name=f"Hops {week}", date=MONDAY + week * WEEK)
        SlotFactory(part__session=session)
    page = browse(cast.coach, PHONE, has_touch=True, is_mobile=True)
    page.goto(reverse("program:block", args=[block.pk]))
    finger, cells = Finger(page), page.locator(".cell")
    finger.centre(cells.nth(1))
    before = page.evaluate("scrollY")
    finger.swipe(cells.nth(1), cells.nth(0))
    page.wait_for_function("before => scrollY > before", arg=before)
    page.wait_for_timeout(700)
    assert page.locator(".carried, .is-by-touch").count() == 0
    assert [s.date for s in block.sessions.order_by("pk")] == [MONDAY + n * WEEK for n in range(4)]
    # The buttons do the same as carrying.
    page.get_by_text("move or copy").first.tap()
    page.get_by_role("button", name="A day later: Hops 0").tap()
    expect(page.locator(".notice")).to_contain_text("Tuesday 3 November")


def test_the_board_opens_at_its_head_with_the_week_that_is_on_in_sight(desk, cast):
    today = timezone.localdate()
    monday = today - dt.timedelta(days=today.weekday())
    block = BlockFactory(cohort=cast.cohort, starts_on=monday - 9 * WEEK, ends_on=monday + 9 * WEEK)
    for day in range(7):  # a week taller than the screen
        session = SessionFactory(block=block, name="Hops", date=monday + dt.timedelta(days=day))
        SlotFactory(part__session=session)
    page = desk(reverse("program:blocks"))
    page.set_viewport_size(DESK)
    page.goto(reverse("program:block", args=[block.pk]))
    expect(page.get_by_role("heading", name="Week 10", exact=True)).to_be_in_viewport()
    expect(page.get_by_role("heading", level=1)).to_be_in_viewport()
    names, week = page.locator(".board-days"), page.locator(".board-week.is-now")
    beside = names.bounding_box()["x"] + names.bounding_box()["width"]
    assert abs(week.bounding_box()["x"] - beside) < 2
    # On a phone, where the weeks stand below each other, the page goes to it.
    page.set_viewport_size(PHONE)
    page.reload()
    expect(page.get_by_role("heading", name="Week 10", exact=True)).to_be_in_viewport()


def test_the_longest_block_scrolls_inside_the_page_beside_the_names_of_its_days(desk, cast):
    block = BlockFactory(cohort=cast.cohort, ends_on=MONDAY + 26 * WEEK - dt.timedelta(days=1))
    SessionFactory(block=block, name="Last", date=MONDAY + 25 * WEEK)
    page = desk(reverse("program:block", args=[block.pk]))
    page.set_viewport_size({"width": 1280, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") == 1280
    before = page.locator(".board-dayname").first.bounding_box()["x"]
    page.get_by_role("link", name="Last").scroll_into_view_if_needed()
    expect(page.get_by_role("link", name="Last")).to_be_in_viewport()
    assert page.locator(".block-board").evaluate("board => board.scrollLeft") > 1000
    assert page.locator(".board-dayname").first.bounding_box()["x"] == before
    page.get_by_role("link", name="Last").press("Alt+ArrowLeft")
    expect(page.locator(".notice")).to_contain_text("went from")
    assert page.locator(".block-board").evaluate("board => board.scrollLeft") > 1000
