"""A change of look is seen: every figure is rendered and compared with the picture kept of it."""

from __future__ import annotations

import base64
import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from library.figures import movement
from library.management.commands.figure_sheet import CELL, COLUMNS, photograph_in, thumbnails

KEPT = Path(__file__).with_name("look.png")
NAMES = Path(__file__).with_name("look.json")
# Mean difference of a cell's pixels, 0 to 255. The same browser comes to 0; a knee bent ten degrees
# more comes to 0.75 (a far leg lifted behind) to 4 (a squat), measured when this was written.
TOLERANCE = 0.5

COMPARE = """async ([kept, now, columns, width, height, count]) => {
  const load = async url => createImageBitmap(await (await fetch(url)).blob());
  const [a, b] = await Promise.all([load(kept), load(now)]);
  const pixels = image => {
    const canvas = new OffscreenCanvas(image.width, image.height);
    const pen = canvas.getContext("2d");
    pen.drawImage(image, 0, 0);
    return pen;
  };
  const [one, two] = [pixels(a), pixels(b)];
  return [...Array(count).keys()].map(cell => {
    const at = [(cell % columns) * width, Math.floor(cell / columns) * height, width, height];
    const [x, y] = [one.getImageData(...at).data, two.getImageData(...at).data];
    return x.reduce((sum, value, k) => sum + Math.abs(value - y[k]), 0) / x.length;
  });
}"""


def as_url(png: bytes) -> str:
    return "data:image/png;base64," + base64.b64encode(png).decode()


def differences(browser: Browser, kept: bytes, now: bytes, count: int) -> list[float]:
    """The mean difference of each of the first `count` cells of two pages of thumbnails."""
    tab = browser.new_page()
    found = tab.evaluate(COMPARE, [as_url(kept), as_url(now), COLUMNS, *CELL, count])
    tab.close()
    return found


@pytest.fixture(scope="module")
def rendered(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("look")
    return photograph_in(browser, [thumbnails(movement.slugs())], folder, "light")[0].read_bytes()


@pytest.mark.browser
def test_no_figure_has_changed_its_look_unseen(browser: Browser, rendered: bytes) -> None:
    """After looking at a wanted change: manage.py figure_sheet tests/library/figures --keep."""
    slugs = movement.slugs()
    assert json.loads(NAMES.read_text()) == slugs, "a figure is new or gone: keep new pictures"
    found = differences(browser, KEPT.read_bytes(), rendered, len(slugs))
    changed = {slug: n for slug, n in zip(slugs, found, strict=True) if n > TOLERANCE}
    assert changed == {}


@pytest.mark.browser
def test_a_changed_figure_is_noticed(browser: Browser, rendered: bytes, tmp_path: Path) -> None:
    """The same page with two figures exchanged differs in exactly those two cells."""
    slugs = movement.slugs()
    first, second = slugs.index("free-squat"), slugs.index("half-squat")
    exchanged = list(slugs)
    exchanged[first], exchanged[second] = exchanged[second], exchanged[first]
    other = photograph_in(browser, [thumbnails(exchanged)], tmp_path, "light")[0].read_bytes()
    found = differences(browser, rendered, other, len(slugs))
    assert [k for k, n in enumerate(found) if n > TOLERANCE] == sorted([first, second])
