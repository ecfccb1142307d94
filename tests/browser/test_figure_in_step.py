"""The figure keeps the time that is counted aloud, on the clock of the wall."""

import uuid
from itertools import pairwise
from statistics import median

import pytest
from django.core.files.base import ContentFile
from django.urls import reverse
from playwright.sync_api import BrowserContext, Page, expect

from library.models import Exercise
from library.shared.uploads.keeping import uploads
from program.models import AssignedSession
from tests.support.family import assign, give
from tests.support.following import LISTENING
from tests.support.pictures import photo
from tests.support.requests import all_answered

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

WATCHING = """
  globalThis.seen = [];
  const speak = speechSynthesis.speak;
  const drawing = () => document.querySelector("[data-figure]").shadowRoot.querySelector("svg");
  const height = () => {
    const shapes = [...drawing().querySelectorAll(".m path.i")];
    return Math.min(...shapes.map(shape => shape.getBBox().y));
  };
  speechSynthesis.speak = said => {
    if (/^\\d+$/.test(said.text)) seen.push([said.text, drawing().getCurrentTime(), height()]);
    speak(said);
  };
  const side = document.querySelector("[data-side]");
  new MutationObserver(() => seen.push([side.textContent, drawing().getCurrentTime(), height()]))
    .observe(side, { childList: true, characterData: true, subtree: true });
"""
"""Notes where the figure's own clock is, and how high its head, whenever a repetition is counted
aloud and whenever the word under the name changes."""

NEAR = 0.1  # seconds
LATE_ONCE = 0.4  # seconds by which a busy machine may draw one frame too late


def are_near(offs: list[float]) -> bool:
    """In step before the pause and after it: half of the readings and more are near, and a reading
    that is not was a single late one."""
    halves = offs[: len(offs) // 2], offs[len(offs) // 2 :]
    return all(median(map(abs, half)) < NEAR for half in halves) and max(map(abs, offs)) < LATE_ONCE


@pytest.fixture
def follow(page: Page, context: BrowserContext, cast, sign_in, live_server):
    """Opens the follow-along of a session, as its guardian, and starts it."""
    sign_in(context, cast.guardian)
    page.add_init_script(LISTENING)

    def started(session: AssignedSession) -> Page:
        address = reverse("program:follow", args=[cast.child.public_id, session.public_id])
        page.goto(live_server.url + address)
        page.get_by_role("button", name="Start", exact=True).click()
        return page

    with all_answered(page):
        yield started


@pytest.fixture
def squats(cast, follow) -> Page:
    """Five squats of 1 s down, 1 s still and as fast as it goes up, from the first one on."""
    session = assign(cast.child)
    slot = give(session, "Squat", rounds=1, amount=5, tempo="1-1-X-0")
    Exercise.objects.filter(pk=slot.revision.exercise_id).update(slug="free-squat")
    page = follow(session)
    page.wait_for_selector("[data-figure][data-drawn]", state="attached")
    page.evaluate(WATCHING)
    page.get_by_role("button", name="Skip", exact=True).locator("visible=true").click()
    return page


def test_the_figure_is_in_step_with_what_is_counted_and_stays_so_after_a_pause(squats: Page):
    expect(squats.locator("[data-count]")).to_have_text("3", timeout=10_000)
    squats.get_by_role("button", name="Pause", exact=True).click()
    squats.wait_for_timeout(700)  # a pause of no round number of frames
    squats.get_by_role("button", name="Go on", exact=True).click()
    expect(squats.get_by_text("How hard was it?")).to_be_visible(timeout=15_000)
    seen = squats.evaluate("seen")
    counted = [(int(word) - 1, second) for word, second, _ in seen if word.isdecimal()]
    assert [n for n, _ in counted] == [1, 2, 3, 4]
    assert are_near([second - n * 2.5 for n, second in counted])
    starts = {"down": 0, "still": 1, "up": 2}
    told = [(word, second, height) for word, second, height in seen if word in starts]
    assert len(told) >= 3 * 5 - 1  # the first word stands there already
    assert are_near([(second - starts[word] + 1.25) % 2.5 - 1.25 for word, second, _ in told])
    tops = [height for word, _, height in told if word == "down"]
    bottoms = [height for word, _, height in told if word == "still"]
    assert max(tops) < min(bottoms) - 50  # a drawing's y runs down: the head is low at the bottom
    assert all(second < later for (_, second), (_, later) in pairwise(counted))


PLACE = """() => {
  const holder = document.querySelector("[data-figure]");
  const room = holder.getBoundingClientRect();
  const inks = [...holder.shadowRoot.querySelectorAll(".m .i, .s .i")];
  const boxes = inks.map(ink => ink.getBoundingClientRect()).filter(box => box.width > 0);
  const [left, right] = [
    Math.min(...boxes.map(box => box.left)),
    Math.max(...boxes.map(box => box.right)),
  ];
  const inside = boxes.every(box => box.left >= room.left && box.right <= room.right &&
    box.top >= room.top && box.bottom <= room.bottom);
  return { share: (right - left) / room.width, inside };
}"""
"""How much of its place's width a figure takes, and whether all of it is inside."""


@pytest.mark.parametrize("motion", ["no-preference", "reduce"])
@pytest.mark.parametrize(
    "screen", [(360, 640), (820, 1180), (844, 390)], ids=["small", "tablet", "on its side"]
)
def test_a_plank_fills_the_width_of_its_place_on_every_screen(cast, follow, page, screen, motion):
    page.set_viewport_size({"width": screen[0], "height": screen[1]})
    page.emulate_media(reduced_motion=motion)
    session = assign(cast.child)
    slot = give(session, "Plank", revision__measure="seconds", revision__tempo="", amount=20)
    Exercise.objects.filter(pk=slot.revision.exercise_id).update(slug="plank")
    follow(session).wait_for_selector("[data-figure][data-drawn]", state="attached")
    place = page.evaluate(PLACE)
    assert place["inside"]
    assert place["share"] > (0.7 if motion == "no-preference" else 0.2)


SHOWN = """() => {
  const image = document.querySelector("[data-figure]").shadowRoot.querySelector("img");
  const { width, height } = image?.getBoundingClientRect() ?? {};
  return Boolean(image?.naturalWidth && width > 100 && height > 50);
}"""


def test_a_photo_of_a_coachs_own_stands_where_the_figure_would(cast, follow):
    session = assign(cast.child)
    name = uploads().save(f"{uuid.uuid4().hex}.jpg", ContentFile(photo()))
    give(session, "Squat", revision__picture=name, revision__picture_words="Feet flat.")
    follow(session).wait_for_function(SHOWN)


# What a service worker asks for, the page cannot keep from arriving.
@pytest.mark.browser_context_args(service_workers="block")
def test_a_figure_that_cannot_be_fetched_leaves_its_room_to_the_number(cast, follow, page):
    page.route("**/library/figures/**", lambda route: route.abort())
    session = assign(cast.child)
    slot = give(session, "Squat", tempo="3-1-1-0")
    Exercise.objects.filter(pk=slot.revision.exercise_id).update(slug="free-squat")
    with page.expect_event("requestfailed", lambda request: "/figures/" in request.url):
        follow(session)
    expect(page.locator("[data-count]")).to_be_visible()
    expect(page.locator("[data-figure]")).not_to_have_attribute("data-drawn", "")
    assert page.locator("[data-figure] img").count() == 0
