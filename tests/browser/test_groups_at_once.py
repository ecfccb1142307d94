"""Thirty children at once, as a coach does it, with what it costs counted."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from athletes.changes import answer_kit
from athletes.home_kit import QUESTIONS
from athletes.models import HomeKit, Placement
from library.usual_home import USUAL_HOME_KIT
from tests.support.factories import (
    ChildFactory,
    CohortFactory,
    ExerciseFactory,
    ItemFactory,
    PathwayFactory,
)
from tests.support.interactions import Counted

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FLOORS = ("carpet", "grass", "smooth-floor")
ROOM = ("high-space", "lane-space", "mat-space")
THINGS = (
    "doorway", "low-step", "skipping-rope", "sofa", "stairs", "sturdy-table",
    *sorted(USUAL_HOME_KIT - {"mat-space"}),
)  # fmt: skip
FLAT = USUAL_HOME_KIT | {"smooth-floor", "sofa", "sturdy-table", "doorway"}
HOUSE = FLAT | {"carpet", "grass", "stairs", "lane-space", "high-space", "skipping-rope"}
CARPETED = USUAL_HOME_KIT | {"carpet", "sofa", "low-step"}
SMALL = (USUAL_HOME_KIT | {"carpet"}) - {"mat-space"}
HOMES = (FLAT, HOUSE, FLAT, CARPETED, FLAT, HOUSE, SMALL, FLAT, HOUSE, CARPETED) * 3


@pytest.fixture
def thirty(cast):
    cohort = CohortFactory(name="Thirty", coached_by=[cast.coach])
    return [ChildFactory(given_name=f"Child{n:02}", cohort=cohort) for n in range(30)]


@pytest.fixture
def items():
    kinds = zip((kind for kind, _ in QUESTIONS), (FLOORS, ROOM, THINGS), strict=True)
    return [ItemFactory(slug=slug, kind=kind) for kind, slugs in kinds for slug in slugs]


def test_the_homes_of_thirty_children_of_four_kinds_are_told_in_forty_interactions(
    cast, thirty, items, browse_faultless
):
    page = browse_faultless(cast.coach)
    page.goto(reverse("athletes:kits", args=[thirty[0].enrolments.get().cohort_id]))
    does = Counted(page)

    _give_everybody(does, sorted(FLAT - USUAL_HOME_KIT))
    for home in (HOUSE, CARPETED, SMALL):
        _tell_of(does, thirty, home)
    does.click(page.get_by_role("button", name="Save"))
    expect(page.get_by_text("30 homes are saved.")).to_be_visible()

    told = what_is_told()
    assert [told[child.pk] for child in thirty] == list(HOMES)
    print(f"kits of 30 children with four kinds of home: {does.count} interactions")
    assert does.count <= 40
    answer_kit(thirty[29], [], cast.guardian)
    page.reload()
    _by_keyboard_alone(page, thirty)


def _by_keyboard_alone(page, thirty):
    """The first row's carpet, down to everybody but whose family has told itself; then the second
    row as a usual home, and the third as that one."""
    cell(page, thirty[0], "carpet").focus()
    for key in ("Space", "f", "ArrowDown", "u", "ArrowDown", "s", "ArrowRight"):
        page.keyboard.press(key)
    expect(cell(page, thirty[2], "grass")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    expect(cell(page, thirty[2], "grass")).to_be_focused()
    page.get_by_role("button", name="Save").press("Enter")
    expect(page.get_by_text("homes are saved.")).to_be_visible()
    told = what_is_told()
    assert told[thirty[0].pk] == FLAT | {"carpet"}
    assert told[thirty[1].pk] == told[thirty[2].pk] == USUAL_HOME_KIT
    assert all("carpet" in told[child.pk] for child in thirty[3:29])
    assert told[thirty[29].pk] == set()


def _give_everybody(does, slugs):
    for slug in slugs:
        head = does.page.get_by_role("columnheader")
        does.click(head.get_by_role("button", name=words_of(slug), exact=True))


def _tell_of(does, thirty, home):
    """The first child with such a home, and the others like it."""
    first, *others = [each for each, of in zip(thirty, HOMES, strict=True) if of == home]
    if home != HOUSE:
        does.click(row(does.page, first).get_by_role("button", name="usual home"))
    for slug in sorted(home ^ (FLAT if home == HOUSE else USUAL_HOME_KIT)):
        does.click(cell(does.page, first, slug))
    for child in others:
        does.click(row(does.page, child).get_by_role("button", name=f"as {first}"))


def row(page, child):
    return page.get_by_role("row").filter(has_text=f"{child} ")


def cell(page, child, slug):
    return page.get_by_label(f"{child}: {words_of(slug)}", exact=True)


def words_of(slug):
    return slug.replace("-", " ")


def what_is_told():
    kits = HomeKit.objects.prefetch_related("items")
    return {kit.child_id: {item.slug for item in kit.items.all()} for kit in kits}


@pytest.fixture
def pathways():
    return [
        PathwayFactory(
            slug=f"way-{n:02}",
            chain=[ExerciseFactory(slug=f"way-{n:02}-{level}") for level in "abc"],
        )
        for n in range(14)
    ]


def test_thirty_children_are_placed_on_fourteen_pathways_in_forty_interactions(
    cast, thirty, pathways, browse_faultless
):
    """At once, and after that whoever stands elsewhere: three children on each of five pathways.
    Of one exercise all are seen."""
    page = browse_faultless(cast.coach)
    page.goto(reverse("athletes:children"))
    does = Counted(page)
    does.click(page.get_by_role("link", name="Placements"))
    does.click(page.get_by_role("link", name="Thirty"))
    does.click(page.get_by_role("link", name="Place the whole group"))
    does.click(page.get_by_role("button", name="Place 30 children on all pathways"))
    expect(page.get_by_text("30 children begin now.")).to_be_visible()
    does.click(page.get_by_role("link", name="Way-00"))
    for pathway in pathways[:5]:
        if pathway != pathways[0]:
            does.click(page.get_by_role("link", name=str(pathway)))
        for child in thirty[:3]:
            drag(does, token_of(page, child), station_of(page, f"{pathway.slug}-b"))
            expect(station_of(page, f"{pathway.slug}-b")).to_contain_text(str(child))
    does.click(page.get_by_role("button", name="All 27 seen here"))
    expect(page.get_by_text("27 children are seen as they stand.")).to_be_visible()

    now = Placement.objects.current()
    assert now.count() == 30 * 14
    assert now.filter(is_seen=True, exercise__slug__endswith="-b").count() == 3 * 5
    assert now.filter(is_seen=True, pathway=pathways[4]).count() == 30
    assert now.not_seen().count() == 30 * 14 - 3 * 5 - 27
    print(f"30 children placed on 14 pathways: {does.count} interactions")
    assert does.count <= 40


def drag(does, token, station):
    does.count += 1
    token.drag_to(station.get_by_role("heading"))


def token_of(page, child):
    return page.locator(f"[data-child='{child.public_id}']")


def station_of(page, slug):
    return page.locator(f"[data-exercise='{slug}']")
