"""What every page shares, in a real browser: lanes drawn with the real fonts, and saves that fail.

The pages come from a small server of this test's own, so that nothing but the templates, the
stylesheets and `app.js` is under test.
"""

import mimetypes
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.urls import reverse
from playwright.sync_api import Dialog, Page, Request, expect

from program.common.lanes import Evidence, PartTime, evidence_lane, session_lane

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
SPILLING = """() => [...document.querySelectorAll('.lane-stretch text')].filter(text => {
  const own = text.getBoundingClientRect();
  const room = text.closest('svg').querySelector('.lane-ground').getBoundingClientRect();
  return own.width && (own.left < room.left || own.right > room.right + 0.5
    || own.top < room.top - 1 || own.bottom > room.bottom + 1);
}).map(text => text.textContent)"""


@pytest.mark.parametrize("width", [320, 390, 820, 1280])
@pytest.mark.parametrize("drawn", [session_lane("Today", LONG), evidence_lane("Seen", SEEN)])
def test_no_word_of_a_lane_spills_out_of_its_stretch(
    page: Page, serve: Serve, width: int, drawn: object
) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    lane = render_to_string("components/lane.html", {"lane": drawn})
    logged = serve(f'<div class="page"><div class="sheet sheet-body">{lane}</div></div>')
    assert page.locator(".lane-stretch text:visible").count() > 4
    assert page.evaluate(SPILLING) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert logged == []


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
    ],
)
def test_a_refused_save_says_so_and_keeps_what_was_typed(
    page: Page, serve: Serve, status: int, sentence: str
) -> None:
    serve(NOTE.format(more=""), {"save/": (status, "no")})
    type_and_save(page)
    expect(page.locator("[data-messages]")).to_contain_text(sentence)
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
