"""What every page shares, in a real browser: lanes drawn with the real fonts, and saves that fail.

The pages come from a small server of this test's own, so that nothing but the templates, the
stylesheets and `app.js` is under test.
"""

import mimetypes
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.urls import reverse
from playwright.sync_api import Dialog, Page, Request, expect

from library.shared.lanes import PathwayLane, Stop, pathway_lane
from program.common.lanes import (
    Day,
    Evidence,
    PartTime,
    evidence_lane,
    session_lane,
    week_lane,
)

pytestmark = pytest.mark.browser

type Answer = tuple[int, str]
type Serve = Callable[..., list[str]]

CSP = "default-src 'self'; style-src 'self'; script-src 'self'"


class Handler(BaseHTTPRequestHandler):
    """Static files as they are; below `answers` a status and a body, or where to go instead."""

    answers: dict[str, Answer]

    def do_GET(self) -> None:
        path = self.path.lstrip("/")
        if path.startswith("static/"):
            found = Path(str(finders.find(path.removeprefix("static/"))))
            kind = mimetypes.guess_type(found)[0] or "font/woff2"
            self.give(200, found.read_bytes(), {"content-type": kind})
            return
        # What a browser asks for by itself, such as its icon, is not there.
        status, body = self.answers.get(path, (404, ""))
        if status == 302:
            self.give(status, b"", {"location": body})
        else:
            headers = {"content-type": "text/html; charset=utf-8", "content-security-policy": CSP}
            self.give(status, body.encode(), headers)

    def do_POST(self) -> None:
        self.rfile.read(int(self.headers["content-length"]))
        if self.path == "/slow/":
            time.sleep(0.5)
        self.do_GET()

    def give(self, status: int, body: bytes, headers: dict[str, str]) -> None:
        self.send_response(status)
        for name, value in headers.items():
            self.send_header(name, value)
        self.send_header("content-length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *args: object) -> None:
        """Quiet."""


@pytest.fixture
def serve(page: Page) -> Iterator[Serve]:
    """Open a page of ours holding `body`, with `answers` by path; returns what the console says."""
    handler = type("Own", (Handler,), {})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    thread = Thread(target=server.serve_forever)
    thread.start()

    def opened(body: str, answers: dict[str, Answer] | None = None) -> list[str]:
        html = render_to_string("base.html").replace("<main", f"<div>{body}</div><main", 1)
        handler.answers = {"": (200, html), **(answers or {})}
        logged: list[str] = []
        page.on("console", lambda message: logged.append(message.text))
        page.goto(f"http://127.0.0.1:{server.server_port}/")
        page.evaluate("document.fonts.ready")
        return logged

    yield opened
    page.close()
    server.shutdown()
    thread.join()
    server.server_close()


LONG = [
    PartTime("warm-up", 370),
    PartTime("step & row", 425),
    PartTime("hinge & reach", 320),
    PartTime("crab relay", 230),
]
SEEN = [
    Evidence("8 · 8", "Mon, effort 5"),
    Evidence("8 · 8", "Wed, effort 4"),
    Evidence("10 · 9", "Fri, effort 4"),
    Evidence("both sides, twice over", "the step’s own test", "good"),
]
SPILLING = """() => [...document.querySelectorAll('.lane-words > *')].filter(text => {
  const words = document.createRange();
  words.selectNodeContents(text);
  const own = words.getBoundingClientRect();
  const strip = text.closest('.lane-strip').getBoundingClientRect();
  const stretch = text.closest('.lane-stretch').getBoundingClientRect();
  return own.width && [strip, stretch].some(room => own.left < room.left
    || own.right > room.right + 0.5 || own.top < room.top - 1 || own.bottom > room.bottom + 1);
}).map(text => text.textContent)"""


def in_a_sheet(page: Page, serve: Serve, width: int, **drawn: object) -> list[str]:
    """Open a lane as it stands on a page of that width."""
    page.set_viewport_size({"width": width, "height": 800})
    kind = "pathway_lane" if isinstance(drawn["lane"], PathwayLane) else "lane"
    lane = render_to_string(f"components/{kind}.html", drawn)
    return serve(f'<div class="page"><div class="sheet sheet-body">{lane}</div></div>')


@pytest.mark.parametrize("text", [100, 200])
@pytest.mark.parametrize("width", [320, 390, 820, 1280])
@pytest.mark.parametrize("drawn", [session_lane("Today", LONG), evidence_lane("Seen", SEEN)])
def test_no_word_of_a_lane_spills_out_of_its_stretch(
    page: Page, serve: Serve, width: int, drawn: object, text: int
) -> None:
    logged = in_a_sheet(page, serve, width, lane=drawn)
    page.evaluate("percent => document.documentElement.style.fontSize = percent", f"{text}%")
    assert page.locator(".lane-words > *:visible").count() > 4
    assert page.evaluate(SPILLING) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert logged == []


def test_every_share_is_known_to_the_stylesheet(page: Page, serve: Serve) -> None:
    shares = [f"{share:02d}" for share in range(1, 100)]
    cells = "".join(f'<li class="lane-stretch" data-share="{share}"></li>' for share in shares)
    serve(f'<ol data-share="88">{cells}</ol>')
    grown = page.locator(".lane-stretch").evaluate_all(
        "cells => cells.map(cell => getComputedStyle(cell).flexGrow)"
    )
    assert [int(each) for each in grown] == list(range(1, 100))


def test_parts_are_as_wide_as_they_last(page: Page, serve: Serve) -> None:
    in_a_sheet(page, serve, 820, lane=session_lane("Today", LONG))
    widths = [
        box["width"] for each in page.locator(".lane-stretch").all() if (box := each.bounding_box())
    ]
    lasting = [part.seconds for part in LONG]
    for width, seconds in zip(widths, lasting, strict=True):
        assert width / sum(widths) == pytest.approx(seconds / sum(lasting), abs=0.01)


def test_a_lane_is_read_out_cell_by_cell(page: Page, serve: Serve) -> None:
    monday = date(2026, 11, 23)
    days = [Day(monday, ("done", "hurt"), "/monday/"), Day(monday + timedelta(1))]
    in_a_sheet(page, serve, 390, lane=week_lane("Mira’s week", days, today=monday + timedelta(1)))
    expect(page.get_by_role("list", name="Mira’s week")).to_match_aria_snapshot("""
        - list "Mira’s week":
          - listitem:
            - link "Monday 23, done, something hurt"
          - listitem: Tuesday 24, today
    """)


PLACED = """() => {
  const middle = box => (box.left + box.right) / 2;
  const lane = document.querySelector('.lane-path').getBoundingClientRect();
  const name = document.querySelector('.lane-here > span').getBoundingClientRect();
  const mark = document.querySelector('.mark-eye').getBoundingClientRect();
  return {beside: Math.abs(middle(name) - middle(mark)), left: name.left - lane.left,
    right: lane.right - name.right, above: mark.top - name.bottom};
}"""


@pytest.mark.parametrize("name", ["Squat", "Squat with a three-second pause, hugging a backpack"])
@pytest.mark.parametrize("width", [320, 1280])
def test_the_name_of_the_placement_stands_above_its_mark_and_stays_on_the_lane(
    page: Page, serve: Serve, width: int, name: str
) -> None:
    for here in range(6):
        stops = [Stop(name if rank == here else f"#{rank}", rank) for rank in range(6)]
        in_a_sheet(page, serve, width, lane=pathway_lane("Any", stops, name))
        seen = page.evaluate(PLACED)
        ends = min(seen["left"], seen["right"])
        assert ends >= -0.5
        assert seen["beside"] < 5 or ends < 0.5  # where the lane ends, the name gives way
        assert seen["above"] > 0


NOTE = """<form action="/save/" method="post" hx-post="/save/" hx-target="this" {more}>
  <label>Note <input name="note"></label><button>Save</button></form>"""


def type_and_save(page: Page) -> None:
    page.get_by_label("Note").fill("her backpack is empty")
    page.get_by_role("button", name="Save").click()


@pytest.mark.parametrize(
    ("status", "sentence"),
    [
        (500, "Something went wrong on our side"),
        (401, "signed out"),
        (403, "signed in anew"),
        (404, "no longer there"),
        (503, "busy just now, and this was not done"),  # by a proxy in front of it
    ],
)
def test_a_refused_save_says_so_and_keeps_what_was_typed(
    page: Page, serve: Serve, status: int, sentence: str
) -> None:
    serve(NOTE.format(more=""), {"save/": (status, "no")})
    type_and_save(page)
    expect(page.locator("[data-messages]")).to_contain_text(sentence)
    expect(page.get_by_label("Note")).to_have_value("her backpack is empty")


def test_busy_the_page_says_what_the_server_says_of_it(page: Page, serve: Serve) -> None:
    serve(NOTE.format(more=""))
    page.route(
        "**/save/",
        lambda route: route.fulfill(
            status=503, content_type="text/plain; charset=utf-8", body="Part of it may be saved."
        ),
    )
    type_and_save(page)
    expect(page.locator("[data-messages]")).to_have_text("Part of it may be saved.")
    expect(page.get_by_label("Note")).to_have_value("her backpack is empty")


def test_a_lost_connection_says_so_and_the_next_save_clears_it(page: Page, serve: Serve) -> None:
    serve(NOTE.format(more=""), {"save/": (200, "<p>Saved.</p>")})
    page.route("**/save/", lambda route: route.abort())
    type_and_save(page)
    expect(page.locator("[data-messages]")).to_contain_text("No connection")
    expect(page.get_by_label("Note")).to_have_value("her backpack is empty")
    page.unroute("**/save/")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    expect(page.locator("[data-messages]")).to_be_empty()


def test_the_sign_in_page_is_never_put_inside_a_form(page: Page, serve: Serve) -> None:
    serve(
        NOTE.format(more=""),
        {
            "save/": (302, reverse("account_login")),
            reverse("account_login").lstrip("/"): (
                200,
                "<!doctype html><title>Sign in</title><p>Sign in here</p>",
            ),
        },
    )
    type_and_save(page)
    expect(page.locator("[data-messages]")).to_contain_text("signed out")
    expect(page.get_by_label("Note")).to_have_value("her backpack is empty")


def sent_to(page: Page, path: str) -> list[Request]:
    """What the page sends to one address from now on; what a browser asks for by itself, whenever
    it likes, is not among it."""
    sent: list[Request] = []
    page.on("request", lambda request: sent.append(request) if path in request.url else None)
    return sent


def test_a_double_tap_sends_a_form_once(page: Page, serve: Serve) -> None:
    form = '<form method="post" action="/slow/"><button>Take it out</button></form>'
    serve(form, {"slow/": (200, "<p>It is out.</p>")})
    sent = sent_to(page, "/slow/")
    button = page.get_by_role("button", name="Take it out")
    button.evaluate("button => { button.click(); setTimeout(() => button.click(), 150); }")
    expect(page.get_by_text("It is out.")).to_be_visible()
    assert len(sent) == 1


def test_a_no_to_the_question_sends_nothing(page: Page, serve: Serve) -> None:
    serve(NOTE.format(more='data-confirm="Really?"'), {"save/": (200, "<p>Saved.</p>")})
    sent = sent_to(page, "/save/")
    page.once("dialog", lambda dialog: dialog.dismiss())
    type_and_save(page)
    assert sent == []
    asked: list[str] = []

    def agree(dialog: Dialog) -> None:
        asked.append(dialog.message)
        dialog.accept()

    page.once("dialog", agree)
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    assert asked == ["Really?"]
    assert len(sent) == 1
