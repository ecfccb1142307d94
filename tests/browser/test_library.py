"""A coach looks through the library, writes an exercise and lets a pathway grow, in a browser."""

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from library.loading.writing import load
from library.models import Exercise, Pathway
from tests.support.factories import ExerciseFactory
from tests.support.screens import DESK, PHONE, SMALLEST, on_each

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

STARTER = Path(__file__).resolve().parents[2] / "library" / "starter"
PAGES = [
    ("library:list", []),
    ("library:exercise", ["split-squat"]),
    ("library:new_exercise", []),
    ("library:edit_exercise", ["split-squat"]),
    ("library:retire", ["split-squat"]),
    ("library:pathway", ["single-leg"]),
    ("library:new_pathway", []),
]


@pytest.fixture
def starter(transactional_db):
    load(STARTER)


def names(page):
    return page.locator(".shelf-row h3 a").all_inner_texts()


def test_the_list_follows_the_typing_and_the_address_follows_the_list(
    cast, browse_faultless, starter
):
    page = browse_faultless(cast.coach)
    page.goto(reverse("library:list"))
    page.get_by_label("Search").press_sequentially("sid plnk")
    expect(page.locator(".shelf-row h3 a").first).to_have_text("Side plank")
    expect(page.get_by_role("status").filter(has_text="exercise")).to_contain_text("5 exercises")
    expect(page).to_have_url(re.compile(r"q=sid\+plnk|q=sid%20plnk"))
    page.get_by_label("Sides").select_option("each")
    page.get_by_label("Needs").select_option(label="Sofa")
    expect(page.locator(".shelf-row")).to_have_count(2)
    found = names(page)
    page.reload()
    assert names(page) == found


def test_the_list_is_searched_without_a_script(cast, browse_faultless, starter):
    page = browse_faultless(cast.coach, java_script_enabled=False)
    page.goto(reverse("library:list"))
    page.get_by_label("Search").fill("hamstrng")
    page.get_by_role("button", name="Find").click()
    expect(page.locator(".shelf-row h3 a").nth(6)).to_be_visible()
    page.get_by_role("link", name="show all").click()
    page.get_by_role("link", name="More").click()
    expect(page).to_have_url(re.compile(r"page=2"))


def test_a_coach_finds_an_exercise_and_walks_up_its_pathway_by_keyboard(
    cast, browse_faultless, starter
):
    page = browse_faultless(cast.coach)
    page.goto(reverse("library:list"))
    page.get_by_label("Search").fill("sit to stand")
    expect(page.locator(".shelf-row h3 a").first).to_have_text("Sit to stand")
    page.locator(".shelf-row h3 a").first.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sit to stand")
    way = page.locator(".way")
    expect(way.get_by_role("heading", name="Half squat", exact=True)).to_be_visible()
    way.get_by_role("heading", name="Squat", exact=True).get_by_role("link").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Squat")


def test_two_coaches_edit_one_exercise_and_neither_loses_a_word(cast, browse_faultless, starter):
    mine, theirs = browse_faultless(cast.coach), browse_faultless(cast.other_coach)
    for page in (mine, theirs):
        page.goto(reverse("library:edit_exercise", args=["split-squat"]))
    theirs.get_by_label("When to stop").fill("Stop when the front knee hurts.")
    theirs.get_by_role("button", name="Save").click()
    expect(theirs.get_by_role("heading", level=1)).to_have_text("Split squat")

    mine.get_by_label("Cue 1").fill("Tall as a tower")
    need = mine.locator(".need-row").first
    need.get_by_label("It needs").fill("something to hold")
    need.get_by_text("Choose what meets it").click()
    need.get_by_label("Clear wall").check()
    mine.get_by_role("button", name="Save").click()
    alert = mine.get_by_role("alert")
    expect(alert).to_contain_text("Other Coach saved this exercise while you were writing")
    expect(alert).to_contain_text("Stop when the front knee hurts.")
    expect(mine.get_by_label("Cue 1")).to_have_value("Tall as a tower")
    mine.get_by_label("When to stop").fill("Stop when the front knee hurts.")
    mine.get_by_role("button", name="Save").click()
    expect(mine.get_by_role("heading", level=1)).to_have_text("Split squat")

    now = Exercise.objects.select_related("current").get(slug="split-squat").current
    assert now.number == 3
    assert now.stop == "Stop when the front knee hurts."
    assert now.cues[0] == "Tall as a tower"
    assert [item.slug for item in now.needs.get().items.all()] == ["wall"]


def test_a_pathway_grows_and_refuses_a_circle(cast, browse_faultless, starter):
    page = browse_faultless(cast.coach)
    page.goto(reverse("library:new_pathway"))
    page.get_by_label("Name").fill("Squats again")
    page.get_by_label("Pattern").select_option("squat")
    page.get_by_label("About").fill("From half way down to slow motion.")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Add the first step").click()

    def add(easier, harder):
        page.get_by_label("From the easier").select_option(label=easier)
        page.get_by_label("to the harder").select_option(label=harder)
        page.get_by_label("What changes").fill("The depth.")
        page.get_by_label("When is a child ready?").fill("Ready when eight are calm.")
        page.get_by_role("button", name="Add this step").click()

    add("Half squat", "Squat")
    expect(page.locator(".station")).to_have_count(2)
    add("Squat", "Half squat")
    expect(page.locator(".invalid-feedback")).to_contain_text("That would lead in a circle")
    expect(page.get_by_label("What changes")).to_have_value("The depth.")
    assert Pathway.objects.get(slug="squats-again").steps.count() == 1


SPILLING = """() => [...document.querySelectorAll('.ladder-place')].filter(place => {
  const name = document.createRange();
  name.selectNodeContents(place);
  const own = name.getBoundingClientRect();
  const room = place.getBoundingClientRect();
  return own.left < room.left || own.right > room.right + 0.5
    || own.top < room.top - 1 || own.bottom > room.bottom + 1;
}).map(place => place.textContent)"""


@pytest.mark.parametrize(("width", "text"), [(320, 100), (1280, 100), (390, 200)])
def test_no_name_spills_out_of_its_place_on_a_drawn_pathway(
    cast, browse_faultless, starter, width, text
):
    page = browse_faultless(cast.coach, viewport={"width": width, "height": 800})
    for slug in Pathway.objects.values_list("slug", flat=True):
        page.goto(reverse("library:pathway", args=[slug]))
        page.evaluate("document.fonts.ready")
        page.evaluate("percent => document.documentElement.style.fontSize = percent", f"{text}%")
        assert page.locator(".ladder-place").count() >= 7
        assert page.evaluate(SPILLING) == [], slug


def test_pages_fit_the_screen_and_can_be_used_by_everyone(cast, browse_faultless, starter):
    page = browse_faultless(cast.coach)
    for name, args in PAGES:
        page.goto(reverse(name, args=args))
        for screen in on_each(page, (SMALLEST, DESK)):
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), name
            found = Axe().run(page)
            assert found.violations_count == 0, f"{name}, {screen}\n{found.generate_report()}"


@pytest.mark.parametrize(("motion", "shown"), [("reduce", "pair"), ("no-preference", "tempo=")])
def test_who_asked_for_less_motion_is_given_the_figure_that_stands(
    cast, browse_faultless, motion, shown
):
    ExerciseFactory(slug="free-squat")
    page = browse_faultless(cast.coach, reduced_motion=motion)
    page.goto(reverse("library:exercise", args=["free-squat"]))
    image = page.locator(".teach img")
    expect(image).to_have_js_property("complete", True)
    assert shown in image.evaluate("image => image.currentSrc")
    assert image.evaluate("image => image.naturalWidth") > 0


def test_a_star_jump_is_begun_from_a_small_jump_on_a_phone(cast, browse_faultless, starter):
    page = browse_faultless(cast.coach, PHONE)
    page.goto(reverse("library:new_exercise"))
    page.get_by_label("Begin from").select_option(label="Small jump, quiet landing")
    page.get_by_role("button", name="Take it over").click()
    expect(page.get_by_role("heading", name="Taken over from Small jump")).to_be_visible()
    expect(page.get_by_label("Pattern")).to_have_value("jump")
    expect(page.locator(".need-row").first.get_by_label("It needs")).to_have_value(
        "a floor to land on"
    )
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]

    for label, words in [
        ("Name", "Star jump"),
        ("In one sentence", "Your child jumps and opens arms and legs like a star."),
        ("Set-up", "Two arm spans of room all round."),
        ("Cue 1", "Open like a star"),
        ("Cue 2", "Close before you land"),
        ("What it should feel like", "Springy calves."),
    ]:
        page.get_by_label(label).fill(words)
    page.get_by_label("Ground contacts").fill("0")
    page.get_by_role("button", name="Save as a draft").click()
    expect(page.get_by_text("Jumps, landings and skips have some")).to_be_visible()
    expect(page.get_by_label("Name")).to_have_value("Star jump")

    page.get_by_label("Ground contacts").fill("1")
    page.get_by_role("button", name="Save as a draft").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Star jump")
    star = Exercise.objects.select_related("current").get(slug="star-jump").current
    assert (star.lands, star.names_a_floor, star.cues) == (
        True,
        True,
        ["Open like a star", "Close before you land"],
    )
