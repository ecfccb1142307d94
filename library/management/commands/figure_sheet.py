"""Contact sheets of the figures, to be looked at: 20 a page, four instants each."""

from __future__ import annotations

import json
import shutil
from argparse import ArgumentParser
from html import escape
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.core.management.base import BaseCommand, CommandError

from library.figures import drawing, movement
from library.figures.motion import Timeline

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PER_PAGE = 20
INSTANTS = 4
PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Figures</title><style>
body{{margin:16px;width:1888px;font:15px sans-serif}}
body{{background:{paper};color:{ink};color-scheme:{scheme}}}
main{{display:grid;grid-template-columns:1fr 1fr;gap:10px 20px}}
figure{{margin:0;border-top:1px solid {ink};padding-top:4px}}
div{{display:grid;grid-template-columns:repeat(4,1fr);gap:4px}} svg{{width:100%;height:auto}}
</style><main>{figures}</main></html>"""
COLUMNS, CELL = 10, (108, 75)  # thumbnails a row, and their size in pixels
THUMBNAILS = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Figures</title><style>
body{{margin:0;width:{width}px;background:{paper}}}
main{{display:grid;grid-template-columns:repeat({columns},{cell}px);grid-auto-rows:{row}px}}
svg{{width:{cell}px;height:{row}px}}
</style><main>{figures}</main></html>"""
LOOKS = {
    "light": {"paper": "#fffdf8", "ink": "#1d2b2a", "scheme": "light"},
    "dark": {"paper": "#1c2625", "ink": "#eef3ee", "scheme": "dark"},
}


class Command(BaseCommand):
    help = "Draw contact sheets (PNG) of the figures into a folder."
    requires_system_checks = []  # the figures are files; no database needs to be up

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", type=Path, help="where the pages go; made if missing")
        parser.add_argument("--only", nargs="+", metavar="SLUG", help="these movements alone")
        parser.add_argument(
            "--keep",
            action="store_true",
            help="one page of thumbnails and their names instead: what the tests compare with",
        )
        parser.add_argument("--look", choices=sorted(LOOKS), default="light")

    def handle(self, *args: Any, **options: Any) -> None:
        slugs = options["only"] or movement.slugs()
        unknown = sorted(set(slugs) - set(movement.slugs()))
        if unknown:
            raise CommandError(f"No movement file for: {', '.join(unknown)}")
        options["folder"].mkdir(parents=True, exist_ok=True)
        if options["keep"]:
            keep(options["folder"], slugs)
            return
        try:
            pages = [
                sheet(slugs[first : first + PER_PAGE], options["look"])
                for first in range(0, len(slugs), PER_PAGE)
            ]
        except movement.MovementError as problem:
            raise CommandError(str(problem)) from problem
        for path in photograph(pages, options["folder"], options["look"]):
            self.stdout.write(str(path))


def keep(folder: Path, slugs: list[str]) -> None:
    """Keep the thumbnails of all figures as `look.png` and their order as `look.json`."""
    photograph([thumbnails(slugs)], folder, "light")[0].replace(folder / "look.png")
    (folder / "look.json").write_text(json.dumps(slugs, indent=0) + "\n")


def thumbnails(slugs: list[str]) -> str:
    """One page of HTML with a small picture of every movement at its most telling instant."""
    stills = []
    for slug in slugs:
        described = movement.load(slug)
        second = instants(Timeline(described))[2]
        stills.append(drawing.still_at(described, second))
    size = {"width": COLUMNS * CELL[0], "columns": COLUMNS, "cell": CELL[0], "row": CELL[1]}
    return THUMBNAILS.format(figures="".join(stills), paper=LOOKS["light"]["paper"], **size)


def sheet(slugs: list[str], look: str) -> str:
    """One page of HTML with four stills of every movement."""
    return PAGE.format(figures="".join(_figure(slug) for slug in slugs), **LOOKS[look])


def _figure(slug: str) -> str:
    described = movement.load(slug)
    stills = "".join(
        drawing.still_at(described, seconds) for seconds in instants(Timeline(described))
    )
    return f"<figure><b>{escape(slug)}</b><div>{stills}</div></figure>"


def instants(timeline: Timeline) -> list[float]:
    """Four seconds of the loop that tell it best: its key poses, then midway between them."""
    moves = [
        (before.at, key.at)
        for before, key in pairwise(timeline.keys)
        if key.pose.channels != before.pose.channels
    ]
    while len(moves) < INSTANTS:
        start, end = max(moves, key=lambda move: move[1] - move[0])
        middle = (start + end) / 2
        moves = sorted([*(m for m in moves if m != (start, end)), (start, middle), (middle, end)])
    step = (len(moves) - 1) / (INSTANTS - 1)
    return [moves[round(number * step)][0] for number in range(INSTANTS)]


def photograph(pages: list[str], folder: Path, look: str) -> list[Path]:
    """The pages as PNG files, rendered by the Chromium that is installed."""
    from playwright.sync_api import sync_playwright

    browser_path = shutil.which("chromium")
    if browser_path is None:
        raise CommandError("Contact sheets need Chromium: install the package «chromium».")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=browser_path)
        paths = photograph_in(browser, pages, folder, look)
        browser.close()
    return paths


def photograph_in(browser: Browser, pages: list[str], folder: Path, look: str) -> list[Path]:
    """The pages as PNG files, rendered by a browser that is running already."""
    paths = []
    tab = browser.new_page(
        viewport={"width": 1920, "height": 800},
        color_scheme="dark" if look == "dark" else "light",
    )
    for number, page in enumerate(pages, start=1):
        tab.set_content(page)
        paths.append(folder / f"figures-{look}-{number}.png")
        tab.screenshot(path=paths[-1], full_page=True)
    tab.close()
    return paths
