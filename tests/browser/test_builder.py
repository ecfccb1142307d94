"""A coach at the keyboard: builds a session, loses the connection, meets another coach."""

import re
import time

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from program.common.session_plan import plan_of
from program.models import Session, Slot
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.interactions import Counted
from tests.support.screens import DESK

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def at_the_builder(browse, cast):
    """Opens a session's builder as the owning coach."""

    def opened(session):
        page = browse(cast.coach)
        page.goto(reverse("program:build", args=[session.pk]))
        return page

    return opened


@pytest.fixture
def session(cast):
    return SessionFactory(block=BlockFactory(cohort=cast.cohort), name="Strong steps", date=MONDAY)


def eventually(holds):
    """Ask again for up to five seconds: what the page sends arrives when it arrives."""
    until = time.monotonic() + 5
    while not holds() and time.monotonic() < until:
        time.sleep(0.05)
    assert holds()


def kept(page):
    """What the tab keeps because the server is not known to have it."""
    keys = page.evaluate("Object.keys(sessionStorage)")
    return [key for key in keys if key.startswith("fledge-typed")]


def is_save(route) -> bool:
    return route.request.method == "POST"


def stored(row, field):
    return type(row).objects.values_list(field, flat=True).get(pk=row.pk)


def test_a_session_is_built_from_the_keyboard_alone(at_the_builder, session):
    ExerciseFactory(revision__name="Slow step down")
    ExerciseFactory(revision__name="Backpack row", revision__pattern="pull")
    page = at_the_builder(session)
    page.get_by_role("button", name="superset").press("Enter")
    page.wait_for_selector(".part")
    page.keyboard.type("Step and row")
    page.keyboard.press("Tab")
    eventually(lambda: session.parts.get().name == "Step and row")

    page.locator("h1").click()
    page.keyboard.press("/")
    page.keyboard.type("slow step")
    page.keyboard.press("Enter")  # before the answer is there
    page.wait_for_selector(".slot >> text=Slow step down")
    page.keyboard.type("row", delay=40)
    page.wait_for_selector(".found-one >> text=Backpack row")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.wait_for_selector(".slot >> text=Backpack row")
    expect(page.locator("[data-find]")).to_be_focused()  # chosen by arrow, on at the search

    amount = page.locator(".slot input[name=amount]").last
    clock = page.locator(".part-clock")
    minutes = clock.inner_text()
    amount.fill("12")
    amount.press("Tab")
    expect(clock).not_to_have_text(minutes)

    page.locator(".slot input[name=amount]").last.focus()
    page.keyboard.press("Alt+ArrowUp")
    page.wait_for_selector("li:first-child > .slot >> text=Backpack row")
    assert page.evaluate("document.activeElement.name") == "amount"
    slots = session.parts.get().slots.all()
    assert [str(slot.exercise) for slot in slots] == ["Backpack row", "Slow step down"]
    assert slots[0].amount == 12


EVENING = {
    "warm-up": ("March", "Bird dog", "Ankle rock"),
    "superset": ("Calm squat", "press-up"),
    "circuit": ("Slow step down", "Backpack row", "Bear crawl", "Side plank"),
    "cool-down": ("Hip stretch", "Open book"),
}


def test_an_evening_of_eleven_exercises_and_twenty_minutes_in_thirty_interactions(
    at_the_builder, cast
):
    """From an empty builder. Each exercise is typed and taken with its usual dose; then the total
    is brought to what was wanted."""
    for name in (name for names in EVENING.values() for name in names if name != "press-up"):
        sides = "each" if name in {"Slow step down", "Backpack row"} else "both"
        ExerciseFactory(revision__name=name, revision__sides=sides)
    ExerciseFactory(revision__name="Floor push", revision__other_names=["push-up", "press-up"])
    session = SessionFactory(
        block=BlockFactory(cohort=cast.cohort), name="Evening", date=MONDAY, target_minutes=20
    )
    page = at_the_builder(session)
    page.set_viewport_size({"width": 1280, "height": 800})
    coach, slots = Counted(page), page.locator(".slot")
    for kind, names in EVENING.items():
        coach.click(page.get_by_role("button", name=kind, exact=True))
        field = page.locator("[data-find]").last
        expect(page.locator(".part")).to_have_count(list(EVENING).index(kind) + 1)
        for name in names:
            before = slots.count()
            coach.type(field, name)
            coach.press("Enter")
            expect(slots).to_have_count(before + 1)
    total = page.locator(".session-total")
    expect(total).to_contain_text("23 min")
    coach.click(page.get_by_role("button", name="Preview"))
    take = page.get_by_role("button", name="Change it")
    expect(take).to_be_focused()
    coach.press("Enter")
    expect(total).to_contain_text("of the 20 you wanted")
    expect(page.locator(".build-said")).to_contain_text("Undo")

    print(f"an evening of eleven exercises and twenty minutes: {coach.count} interactions")
    assert coach.count <= 30
    written = Session.objects.with_plan().get(pk=session.pk)
    names = [str(slot.exercise) for slot in written.all_slots()]
    assert len(names) == 11
    assert names[4] == "Floor push"
    assert 19 * 60 < plan_of(written).seconds <= 20 * 60

    # All of it stands on two screens, and the total in sight wherever one is.
    expect(page.locator(".slot-fit .fit-bar").last).to_be_visible()
    assert page.evaluate("document.documentElement.scrollHeight") <= 2 * 800
    page.mouse.wheel(0, 5000)
    expect(slots.last).to_be_in_viewport()
    expect(total.locator(".big-number")).to_be_in_viewport()

    # The cut is undone as it was made, by one chord.
    page.keyboard.press("Control+z")
    expect(total).to_contain_text("23 min")
    # So is a dose that is still on its way to the server.
    dose = page.locator("input[name=amount]").first
    usual = dose.input_value()
    dose.fill("7")
    page.keyboard.press("Tab")
    page.keyboard.press("Control+z")
    expect(dose).to_have_value(usual)


def test_what_is_typed_the_moment_the_search_is_drawn_is_looked_for(at_the_builder, session):
    ExerciseFactory(revision__name="Slow step down")
    page = at_the_builder(session)
    page.evaluate(
        """new MutationObserver((_, seeing) => {
             const field = document.querySelector("[data-find]");
             if (!field) return;
             seeing.disconnect();
             field.value = "slow step";
             field.dispatchEvent(new Event("input", { bubbles: true }));
           }).observe(document.body, { childList: true, subtree: true })"""
    )
    page.get_by_role("button", name="superset").click()
    expect(page.get_by_role("button", name="Slow step down")).to_be_visible()


def test_what_is_typed_before_the_page_listens_is_looked_for(browse, cast, session):
    PartFactory(session=session)
    ExerciseFactory(revision__name="Slow step down")
    page = browse(cast.coach)
    page.add_init_script(
        """document.addEventListener("DOMContentLoaded", () => {
             document.querySelector("[data-find]").value = "slow step";
           })"""
    )
    page.goto(reverse("program:build", args=[session.pk]))
    expect(page.get_by_role("button", name="Slow step down")).to_be_visible()


def test_what_is_typed_while_an_exercise_is_being_added_is_looked_for(at_the_builder, session):
    PartFactory(session=session)
    ExerciseFactory(revision__name="Slow step down")
    ExerciseFactory(revision__name="Backpack row", revision__pattern="pull")
    page = at_the_builder(session)
    held = []
    page.route("**/slots/", lambda route: held.append(route))
    field = page.locator("[data-find]")
    field.press_sequentially("slow")
    page.wait_for_selector(".found-one >> text=Slow step down")
    with page.expect_request("**/slots/"):
        field.press("Enter")
    page.keyboard.type("row")
    held[0].continue_()
    page.wait_for_selector(".slot >> text=Slow step down")
    expect(field).to_have_value("row")
    expect(field).to_be_focused()
    expect(page.get_by_role("button", name="Backpack row")).to_be_visible()


def test_what_was_typed_without_a_connection_is_kept_and_sent_when_it_is_back(
    at_the_builder, session
):
    slot = SlotFactory(part=PartFactory(session=session), amount=8)
    page = at_the_builder(session)
    page.context.set_offline(True)
    amount = page.locator("input[name=amount]")
    amount.fill("11")
    amount.press("Tab")
    page.wait_for_selector(".slot[data-state=failed]")
    assert amount.input_value() == "11"
    assert "no connection" in page.locator("[data-saved]").inner_text()

    page.context.set_offline(False)
    page.wait_for_selector(".slot:not([data-state])")
    assert stored(slot, "amount") == 11
    expect(page.locator("[data-saved]")).to_have_text(re.compile("^saved"))


def test_what_was_typed_without_a_connection_outlives_closing_the_page(at_the_builder, session):
    slot = SlotFactory(part=PartFactory(session=session), amount=8)
    page = at_the_builder(session)
    page.context.set_offline(True)
    page.locator("input[name=amount]").fill("11")
    page.locator("input[name=amount]").press("Tab")
    page.wait_for_selector(".slot[data-state=failed]")
    # Only what saves stays shut, or the way out and the new page race for what is kept.
    saves = re.compile("/sessions/")
    page.route(saves, lambda route: route.abort() if is_save(route) else route.continue_())
    page.context.set_offline(False)
    page.on("dialog", lambda dialog: dialog.accept())
    page.reload()
    expect(page.locator("input[name=amount]")).to_have_value("11")
    page.unroute(saves)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    eventually(lambda: stored(slot, "amount") == 11)
    eventually(lambda: kept(page) == [])


def test_a_second_coach_sees_both_values_and_decides(at_the_builder, session):
    slot = SlotFactory(part=PartFactory(session=session), amount=8)
    page = at_the_builder(session)
    Slot.objects.update(amount=10, version=2)
    Session.objects.update(version=2)
    amount = page.locator("input[name=amount]")
    amount.fill("12")
    amount.press("Tab")
    page.wait_for_selector("text=yours 12, theirs 10")
    assert amount.input_value() == "12"
    assert stored(slot, "amount") == 10

    page.get_by_role("button", name="Keep mine").click()
    page.wait_for_selector("text=yours 12", state="detached")
    assert stored(slot, "amount") == 12


def test_a_second_coach_may_take_what_the_first_one_wrote(at_the_builder, session):
    slot = SlotFactory(part=PartFactory(session=session), amount=8)
    page = at_the_builder(session)
    Slot.objects.update(amount=10, version=2)
    page.locator("input[name=amount]").fill("12")
    page.locator("input[name=amount]").press("Tab")
    page.get_by_role("link", name="Take theirs").click()
    expect(page.locator("input[name=amount]")).to_have_value("10")
    assert kept(page) == []
    assert stored(slot, "amount") == 10


def test_the_bar_stays_one_line_whatever_it_has_to_say(at_the_builder, session):
    SlotFactory(part=PartFactory(session=session), amount=8)
    Session.objects.update(published_at="2026-11-02T08:00Z", published_version=7)
    page = at_the_builder(session)
    page.set_viewport_size(DESK)
    bar = page.get_by_role("banner")
    amount = page.locator("input[name=amount]")
    amount.fill("900")
    amount.press("Tab")
    expect(bar).to_contain_text("one line is not saved")
    expect(bar).to_contain_text("edited since publishing")
    # As tall as with one line of words: 60 pixels and its edge.
    assert bar.bounding_box()["height"] < 64


def test_a_slot_is_dragged_into_another_part_and_stays_there(at_the_builder, session):
    warm_up = PartFactory(session=session, position=0)
    main = PartFactory(session=session, position=1, name="Main")
    moved = SlotFactory(part=warm_up)
    there = SlotFactory(part=main)
    page = at_the_builder(session)
    # Who gets what comes a moment after the page and makes its rows higher.
    page.wait_for_selector(f"#slot-{there.pk}-fit .fit-bar")
    page.locator(f"[data-slot='{moved.pk}'] .grip").hover()
    page.mouse.down()
    box = page.locator(f"[data-slot='{there.pk}']").bounding_box()
    page.mouse.move(box["x"] + 60, box["y"] + box["height"] - 4, steps=8)
    with page.expect_response(lambda response: "/move/" in response.url) as answer:
        page.mouse.up()
    assert answer.value.ok
    page.wait_for_selector(f"[data-part='{main.pk}'] [data-slot='{moved.pk}']")
    assert list(main.slots.all()) == [there, moved]


def test_deleting_and_undoing_it_keeps_what_is_being_typed_elsewhere(at_the_builder, session):
    part = PartFactory(session=session)
    first, second = SlotFactory(part=part), SlotFactory(part=part, position=1)
    page = at_the_builder(session)
    page.locator(f"#slot-{second.pk}-amount").fill("9")
    # Not by a click, which would leave the field and have it saved first.
    page.locator(f"#slot-{first.pk}-out").dispatch_event("click")
    page.wait_for_selector("text=is deleted.")
    assert page.locator(f"#slot-{second.pk}-amount").input_value() == "9"
    page.locator(".taken-out").get_by_role("button", name="Undo").press("Enter")
    page.wait_for_selector(f"#slot-{first.pk}")
    eventually(
        lambda: list(part.slots.values_list("pk", "amount")) == [(first.pk, 8), (second.pk, 9)]
    )
