"""Children in a real browser: the board by keyboard and by dragging, the list as one types, a
parent's phone, and the import."""

import datetime as dt

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from athletes.changes import place
from athletes.models import Child, HomeKit, Restriction
from tests.support.factories import ChildFactory, ExerciseFactory, ItemFactory, PathwayFactory
from tests.support.finger import Finger
from tests.support.screens import PHONE, TABLET

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def open_as(browse_faultless):
    """Opens an address as somebody."""

    def opened(person, name, *args, **options):
        page = browse_faultless(person, **options)
        page.goto(reverse(f"athletes:{name}", args=args))
        return page

    return opened


@pytest.fixture
def pathway(cast):
    slugs = ("half-squat", "squat", "goblet-squat", "squat-with-a-long-name-to-be-told-by-it")
    pathway = PathwayFactory(
        slug="squat", name="Squat", chain=[ExerciseFactory(slug=slug) for slug in slugs]
    )
    place(cast.child, pathway, pathway.steps.first().easier, cast.coach)
    return pathway


def stands(child) -> str:
    return child.placements.current().get().exercise.slug


def faults_of(page) -> list[str]:
    return [violation["id"] for violation in Axe().run(page).response["violations"]]


def test_a_child_is_moved_by_keyboard_and_the_focus_stays_with_it(cast, pathway, open_as):
    page = open_as(cast.coach, "placements", cast.cohort.pk, "squat")
    page.get_by_label("Why the next child moves").fill("Two calm sessions.")
    harder = page.locator(f"#harder-{cast.child.public_id}")
    harder.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").filter(has_text="works on Squat now")).to_be_visible()
    assert stands(cast.child) == "squat"
    expect(harder).to_be_focused()
    expect(page.get_by_label("Why the next child moves")).to_have_value("")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").filter(has_text="works on Goblet squat")).to_be_visible()
    whys = cast.child.placements.order_by("pk").values_list("exercise__slug", "why")
    assert list(whys) == [
        ("half-squat", ""),
        ("squat", "Two calm sessions."),
        ("goblet-squat", ""),
    ]
    assert faults_of(page) == []


def test_enter_while_writing_why_moves_nobody(cast, pathway, open_as):
    page = open_as(cast.coach, "placements", cast.cohort.pk, "squat")
    page.get_by_label("Why the next child moves").fill("Calm.")
    page.keyboard.press("Enter")
    page.wait_for_timeout(300)
    assert stands(cast.child) == "half-squat"


def test_a_child_is_dragged_along_the_lane_and_from_the_unplaced(cast, pathway, open_as):
    lea = ChildFactory(given_name="Lea", cohort=cast.cohort)
    page = open_as(cast.coach, "placements", cast.cohort.pk, "squat")

    def drag(child, slug):
        token = page.locator(f'[data-child="{child.public_id}"]')
        token.drag_to(page.locator(f'[data-exercise="{slug}"]'))
        expect(page.get_by_role("status").filter(has_text=str(child))).to_be_visible()

    drag(cast.child, "goblet-squat")
    assert stands(cast.child) == "goblet-squat"
    drag(lea, "squat")
    assert stands(lea) == "squat"
    expect(page.get_by_role("heading", name="Not placed yet")).to_have_count(0)


@pytest.mark.parametrize("viewport", [TABLET, PHONE], ids=["tablet", "phone"])
def test_a_child_is_carried_along_the_lane_by_a_finger(cast, pathway, open_as, viewport):
    where = ("placements", cast.cohort.pk, "squat")
    page = open_as(cast.coach, *where, viewport=viewport, has_touch=True, is_mobile=True)
    finger, mira = Finger(page), page.get_by_role("link", name="Mira T.")
    finger.carry(mira, page.locator('[data-exercise="goblet-squat"]'))
    expect(page.get_by_role("status").filter(has_text="works on Goblet squat")).to_be_visible()
    expect(page.locator(".carried")).to_have_count(0)
    assert stands(cast.child) == "goblet-squat"
    # A tap still opens the name, and nobody has moved by it.
    mira.tap()
    expect(page.get_by_role("heading", name="Mira T.")).to_be_visible()
    assert stands(cast.child) == "goblet-squat"


def test_a_name_opens_the_choices_and_the_history(cast, pathway, open_as):
    page = open_as(cast.coach, "placements", cast.cohort.pk, "squat")
    page.get_by_role("link", name="Mira T.").click()
    expect(page.get_by_role("heading", name="Mira T.")).to_be_focused()
    expect(page.get_by_text("Owning Coach", exact=True)).to_be_visible()
    page.get_by_role("button", name="Goblet squat", exact=True).click()
    expect(page.get_by_role("status").filter(has_text="Goblet squat")).to_be_visible()
    assert stands(cast.child) == "goblet-squat"


def test_the_board_works_without_javascript(cast, pathway, open_as):
    where = ("placements", cast.cohort.pk, "squat")
    page = open_as(cast.coach, *where, java_script_enabled=False)
    page.locator(f"#harder-{cast.child.public_id}").click()
    expect(page.get_by_text("Mira T. works on Squat now.")).to_be_visible()
    assert stands(cast.child) == "squat"


def test_the_list_follows_as_one_types(cast, open_as):
    ChildFactory(given_name="Lea", cohort=cast.cohort)
    page = open_as(cast.coach, "children")
    expect(page.get_by_role("link", name="Mira T.")).to_be_visible()
    page.get_by_label("Find a child by name").press_sequentially("lea")
    expect(page.get_by_role("link", name="Mira T.")).to_have_count(0)
    expect(page.get_by_role("link", name="Lea T.")).to_be_visible()
    assert "lea" not in page.url
    assert faults_of(page) == []


def test_a_parent_says_on_a_phone_what_is_at_home_and_what_hurts(cast, open_as):
    for slug, kind in [("towel", "thing"), ("sofa", "thing"), ("carpet", "floor")]:
        ItemFactory(slug=slug, kind=kind)
    page = open_as(cast.guardian, "kit", cast.child.public_id, viewport=PHONE)
    page.get_by_text("towel", exact=True).click()
    page.get_by_role("checkbox", name="carpet").focus()
    page.keyboard.press("Space")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert faults_of(page) == []
    page.get_by_role("button", name="Save").click()
    page.wait_for_url(lambda address: "/kit/" not in address)
    kit = HomeKit.objects.get(child=cast.child)
    assert {item.slug for item in kit.items.all()} == {"towel", "carpet"}

    page = open_as(cast.guardian, "restrictions", cast.child.public_id, viewport=PHONE)
    page.get_by_label("Where").select_option("knee")
    page.get_by_text("left", exact=True).click()
    page.get_by_label("No landing: no jumps, hops or skips").check()
    page.get_by_label("Until").fill(f"{timezone.localdate() + dt.timedelta(days=7):%Y-%m-%d}")
    assert faults_of(page) == []
    page.get_by_role("button", name="Set the restriction").click()
    expect(page.get_by_text("Left knee: no landing until").first).to_be_visible()
    assert Restriction.objects.get().set_by == cast.guardian


def test_a_file_is_looked_at_and_then_added(cast, open_as, tmp_path):
    file = tmp_path / "children.csv"
    file.write_text(
        "First name;Surname;DOB;Cohort\nLea;Bach;04/07/2014;Own cohort\nBen;K;soon;Own cohort\n"
    )
    page = open_as(cast.head_coach, "import")
    page.get_by_label("CSV or Excel workbook").set_input_files(file)
    page.get_by_role("button", name="Show me the rows").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("1 new, 0 already here, 1 wrong")
    page.get_by_text("month first").click()
    page.get_by_role("button", name="Read them so").click()
    expect(page.get_by_role("cell", name="7 Apr 2014")).to_be_visible()
    assert faults_of(page) == []
    page.get_by_role("button", name="Add 1 child").click()
    expect(page.get_by_role("link", name="Lea B.")).to_be_visible()
    assert Child.objects.get(given_name="Lea").birth_date == dt.date(2014, 4, 7)


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize(
    "name", ["children", "new_child", "import", "child", "restrictions", "first_placement"]
)
def test_a_coachs_pages_fit_their_screen_and_are_accessible(cast, pathway, open_as, name, width):
    own = name not in {"children", "new_child", "import"}
    page = open_as(
        cast.coach,
        name,
        *([cast.child.public_id] if own else []),
        viewport={"width": width, "height": 860},
    )
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert faults_of(page) == []
