"""A coach makes a figure of their own with the keyboard, in a browser."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from library.figures.movement import read_own
from library.models import Exercise
from tests.support.factories import ExerciseFactory

PATIENCE = 20_000  # ms for a drawing that the server makes anew

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("width", [1280, 390])
def test_a_figure_is_changed_by_keys_looked_at_and_saved(browse_faultless, cast, width):
    exercise = ExerciseFactory(slug="free-squat", revision__name="Squat")
    page = browse_faultless(cast.coach, viewport={"width": width, "height": 844})
    page.goto(reverse("library:exercise", args=["free-squat"]))
    page.get_by_role("link", name="Change what shows it").click()
    page.get_by_role("link", name="Change its poses").click()
    still = page.locator(".pose-picture img").first
    before = still.get_attribute("src")
    page.wait_for_load_state()  # nobody moves a slider before the page listens

    page.get_by_role("radio", name="start").focus()
    page.keyboard.press("ArrowRight")
    expect(still).to_have_attribute("alt", "The figure in the key pose bottom", timeout=PATIENCE)
    panel = page.locator(".pose-panel:visible")
    panel.locator("summary", has_text="Left arm").press("Enter")
    elbow = panel.locator(".pose-part", has_text="Left arm").get_by_label("Elbow bends")
    elbow.focus()
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    expect(elbow).to_have_attribute("aria-valuetext", "10°")
    expect(panel.get_by_text("10°", exact=True)).to_be_visible()
    expect(still).not_to_have_attribute("src", before, timeout=PATIENCE)
    expect(page.get_by_text("Nothing slides, sinks in or topples.")).to_be_visible(timeout=PATIENCE)
    lean = panel.get_by_label("Leans forward")
    lean.press("Home")
    expect(page.get_by_text("Worth another look.")).to_be_visible(timeout=PATIENCE)
    lean.fill("38")
    expect(page.get_by_text("Nothing slides, sinks in or topples.")).to_be_visible(timeout=PATIENCE)

    page.locator("summary", has_text="Order and lengths").press("Enter")
    lowering = page.get_by_role("group", name="1. Lowering")
    lowering.get_by_label("Ends in").select_option("start")
    expect(page.get_by_text("Comes back to “start”.")).to_be_visible()
    lowering.get_by_label("Ends in").press("ArrowDown")
    expect(lowering.get_by_label("Ends in")).to_have_value("bottom")
    tempo = page.get_by_label("Usual tempo")
    tempo.fill("soon")
    expect(page.get_by_text("It cannot be drawn like this.")).to_be_visible(timeout=PATIENCE)
    tempo.fill("4-2-1-0")
    expect(page.get_by_text("Nothing slides, sinks in or topples.")).to_be_visible(timeout=PATIENCE)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(page)
    assert found.response["violations"] == [], found.generate_report()

    page.get_by_role("button", name="Save this figure").press("Enter")
    expect(page).to_have_url(reverse("library:exercise", args=["free-squat"]), timeout=PATIENCE)
    shown = page.locator(".teach img")
    expect(shown).to_have_attribute(
        "src", re.compile(r"^/library/figures/free-squat/2\.svg\?side=left")
    )
    expect(shown).to_have_js_property("complete", True, timeout=PATIENCE)
    assert shown.evaluate("image => image.naturalWidth") > 0
    own = Exercise.objects.get(pk=exercise.pk).current.movement
    assert "elbow = 10" in own
    assert 'tempo = "4-2-1-0"' in own


@pytest.mark.parametrize("width", [1280, 390])
def test_a_pose_and_a_part_are_added_by_keys_changed_and_saved(browse_faultless, cast, width):
    exercise = ExerciseFactory(slug="deep-squat-hold", revision__name="Squat hold")
    page = browse_faultless(cast.coach, viewport={"width": width, "height": 844})
    page.goto(reverse("library:poses", args=["deep-squat-hold", "deep-squat-hold"]))
    page.get_by_role("radio", name="hold", exact=True).press("Space")
    page.get_by_role("button", name="Add a copy of “hold” after it").press("Enter")

    copy = page.get_by_role("radio", name="hold 2", exact=True)
    expect(copy).to_be_focused(timeout=PATIENCE)
    expect(copy).to_be_checked()
    expect(page.get_by_text("“hold 2” is a copy of “hold”, passed right after it.")).to_be_visible()
    page.wait_for_load_state()  # nobody moves a slider before the page listens
    still = page.locator(".pose-picture img").first
    before = still.get_attribute("src")
    panel = page.locator(".pose-panel:visible")
    nod = panel.get_by_label("Head nods")
    nod.press("ArrowRight")
    expect(still).not_to_have_attribute("src", before, timeout=PATIENCE)
    expect(still).to_have_attribute("alt", "The figure in the key pose hold 2")

    page.locator("summary", has_text="Order and lengths").press("Enter")
    page.get_by_role("button", name="Add a copy of part 2 after it").press("Enter")
    added = page.get_by_role("group", name="3. Hold")
    expect(added).to_be_focused(timeout=PATIENCE)
    page.wait_for_load_state()
    lasts = added.get_by_label("Lasts")
    lasts.press("End")
    expect(lasts).to_have_attribute("aria-valuetext", "8 s")
    expect(page.get_by_text("It brings the figure back to “start”, so it stays.")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(page)
    assert found.response["violations"] == [], found.generate_report()

    page.get_by_role("button", name="Save this figure").press("Enter")
    expect(page).to_have_url(
        reverse("library:exercise", args=["deep-squat-hold"]), timeout=PATIENCE
    )
    own = read_own("deep-squat-hold", Exercise.objects.get(pk=exercise.pk).current.movement)
    assert [*own.poses] == ["start", "hold", "hold 2"]
    assert own.poses["hold 2"].channels["neck"] == own.poses["hold"].channels["neck"] + 1
    assert [phase.seconds for phase in own.phases if phase.name == "hold"][1] == 8


def test_enter_in_a_field_saves_and_neither_adds_nor_takes_out(browse_faultless, cast):
    exercise = ExerciseFactory(slug="free-squat", revision__name="Squat")
    page = browse_faultless(cast.coach)
    page.goto(reverse("library:poses", args=["free-squat", "free-squat"]))
    page.locator("summary", has_text="Order and lengths").press("Enter")
    tempo = page.get_by_label("Usual tempo")
    tempo.fill("4-2-1-0")
    tempo.press("Enter")
    expect(page).to_have_url(reverse("library:exercise", args=["free-squat"]), timeout=PATIENCE)
    own = read_own("free-squat", Exercise.objects.get(pk=exercise.pk).current.movement)
    assert (own.tempo, len(own.poses), len(own.phases)) == ("4-2-1-0", 2, 3)
