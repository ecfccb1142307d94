"""The drawing in the browser it is made for: as an image, under a strict policy, at its tempo."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, Route, expect

from library.figures import movement
from library.figures.drawing import pair, svg

POLICY = "default-src 'none'; img-src 'self'"
PAGE = '<!doctype html><title>Figure</title><img src="/figure.svg" width="300" height="208" alt="">'


@pytest.fixture(scope="module")
def tab(browser: Browser) -> Iterator[Page]:
    page = browser.new_page(viewport={"width": 320, "height": 220})
    yield page
    page.close()


def answer(route: Route) -> None:
    headers = {"Content-Security-Policy": POLICY}
    if route.request.url.endswith(".svg"):
        squat = movement.load("free-squat")
        calm = "pair" in route.request.headers.get("referer", "")
        drawing = pair(squat) if calm else svg(squat, "1-1-1-1")
        route.fulfill(body=drawing, content_type="image/svg+xml", headers=headers)
    else:
        route.fulfill(body=PAGE, content_type="text/html", headers=headers)


@pytest.mark.browser
def test_an_image_moves_under_a_strict_policy(tab: Page) -> None:
    complaints: list[str] = []
    tab.on("console", lambda message: complaints.append(message.text))
    tab.route("http://figures.test/**", answer)
    tab.goto("http://figures.test/")
    pictures = set()
    for _ in range(4):
        pictures.add(tab.screenshot())
        tab.wait_for_timeout(450)
    assert len(pictures) > 2
    assert complaints == []


@pytest.mark.browser
def test_the_bottom_comes_when_the_tempo_says_so(tab: Page) -> None:
    """At 2-1-1-0 the head is lowest from second 2 to second 3, and at its top at 0 and 4."""
    tab.goto("about:blank")
    tab.set_content(svg(movement.load("free-squat"), "2-1-1-0"))
    top_of_body = """second => {
      const drawing = document.querySelector("svg");
      drawing.pauseAnimations();
      drawing.setCurrentTime(second);
      const shapes = [...drawing.querySelectorAll(".m path.i")];
      return Math.min(...shapes.map(shape => shape.getBBox().y));
    }"""
    heights = {second: tab.evaluate(top_of_body, second) for second in (0, 1, 2, 2.9, 3.9)}
    assert heights[0] < heights[1] < heights[2]
    assert heights[2] == pytest.approx(heights[2.9], abs=2)
    assert heights[3.9] == pytest.approx(heights[0], abs=20)
    lowering = [tab.evaluate(top_of_body, 1.9), tab.evaluate(top_of_body, 2.0)]
    assert lowering[1] - lowering[0] < (heights[2] - heights[0]) / 10


PIXELS = """image => {
  const pen = new OffscreenCanvas(image.width, image.height).getContext("2d");
  pen.drawImage(image, 0, 0, image.width, image.height);
  const pixels = pen.getImageData(0, 0, image.width, image.height).data;
  const lit = [];
  for (let k = 0; k < pixels.length; k += 4) if (pixels[k + 3] > 128) lit.push(pixels[k + 1]);
  return lit;
}"""


@pytest.fixture
def as_asked(browser: Browser) -> Iterator[Callable[..., Locator]]:
    """The <img> as it is shown to somebody who has asked for this, on a page of that path."""
    pages = []

    def show(path: str = "", width: int = 300, **asked: Any) -> Locator:
        page = browser.new_page(viewport={"width": 320, "height": 220}, **asked)
        pages.append(page)
        page.route("http://figures.test/**", answer)
        page.goto(f"http://figures.test/{path}")
        image = page.locator("img")
        resize = "(image, wide) => { image.width = wide; image.height = wide * 112 / 162; }"
        image.evaluate(resize, width)
        image.evaluate("image => image.decode()")
        return image

    yield show
    for page in pages:
        page.close()


@pytest.mark.browser
def test_who_asked_for_less_motion_sees_the_start_beside_the_end(tab: Page) -> None:
    """In a page; for an <img>, which a browser need not tell, the page chooses the other file."""
    tab.goto("about:blank")
    tab.set_content(svg(movement.load("free-squat")))
    moving, standing = tab.locator("svg > .m"), tab.locator("svg > .s")
    for asked, seen, unseen in (("reduce", standing, moving), ("no-preference", moving, standing)):
        tab.emulate_media(reduced_motion=asked)
        expect(seen).not_to_have_css("display", "none")
        expect(unseen).to_have_css("display", "none")


@pytest.mark.browser
def test_an_image_follows_light_and_dark(as_asked) -> None:
    """Most of it is ink: #1d2b2a on paper, #eef3ee in the dark; greens are compared."""
    for scheme, ink in (("light", 0x2B), ("dark", 0xF3)):
        greens = as_asked("pair", color_scheme=scheme).evaluate(PIXELS)
        assert statistics.mode(greens) == ink


@pytest.mark.browser
@pytest.mark.parametrize("width", [48, 96, 1600])
def test_it_fills_as_much_of_any_size(as_asked, width: int) -> None:
    """Ink is a figure and not a speck: 4 to 12 per cent of the picture, small or large."""
    ink = sum(1 for green in as_asked("pair", width).evaluate(PIXELS) if green < 0x60)
    assert 0.04 < ink / (width * round(width * 112 / 162)) < 0.12
