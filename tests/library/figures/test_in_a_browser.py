"""The drawing in the browser it is made for: as an image, under a strict policy, at its tempo."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Route

from library.figures import movement
from library.figures.drawing import svg

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
        drawing = svg(movement.load("free-squat"), "1-1-1-1")
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
