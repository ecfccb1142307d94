"""Every page of every address, as everyone who may see it, is a well-made page."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest
from django.conf import settings
from django.template.loader import get_template
from django.urls import reverse

from program.common.idempotency import KEY_FIELD
from tests.support.addresses import ALLOWED, PAGE, PART, ROUTES, TABLED
from tests.support.asking import OWN, Answered, Request, address_of, ask
from tests.support.health import not_written_down
from tests.support.scene import ANONYMOUS, ROLES, Scene

NONCE = re.compile(r"'nonce-([^']+)'")
NEEDS_NO_LABEL = {"hidden", "submit", "button", "reset", "image"}
PARTS_OF_A_TABLE = {"tr", "td", "th", "tbody", "thead", "tfoot"}
OWN_CSS = sorted(Path(settings.BASE_DIR, "static", "css").rglob("*.css"))


def looks_at(scene: Scene, name: str, *, htmx: bool) -> Iterator[tuple[str, Answered]]:
    """An address as each role is given it, as it is and with each query it knows; and, where it
    takes a form, with an empty one sent to it."""
    row = ALLOWED[name]
    for role in (ANONYMOUS, *ROLES):
        if role not in row.door:
            continue
        address = address_of(scene, name, role, (OWN,) * len(row.ids))
        get = Request(role, "GET", htmx)
        for query in ("", *row.queries) if row.get else ():
            yield f"{role}, {address}{query}", ask(scene, get, address + query)
        if row.post:
            post = Request(role, "POST", htmx)
            yield f"{role}, {address}, refused", ask(scene, post, address, row.sent({}))


def is_html(answer: Answered) -> bool:
    return "text/html" in answer.response.headers.get("Content-Type", "") and bool(answer.body)


def is_whole(answer: Answered) -> bool:
    return answer.body.lstrip().lower().startswith("<!doctype html>")


@pytest.mark.parametrize("name", TABLED)
def test_a_page_is_well_made(scene, name):
    wrong = []
    for what, answer in looks_at(scene, name, htmx=False):
        wrong += [f"{what}: {found}" for found in faults_of_keeping(what, answer)]
        wrong += faults_of_looking(scene, name, what, answer)
        if is_html(answer) and is_whole(answer):
            wrong += [f"{what}: {found}" for found in faults_of_page(answer)]
    assert wrong == [], "\n".join(wrong)


@pytest.mark.parametrize("name", TABLED)
def test_what_htmx_gets_is_well_made(scene, name):
    wrong = []
    for what, answer in looks_at(scene, name, htmx=True):
        wrong += [f"{what}: {found}" for found in faults_of_keeping(what, answer)]
        wrong += faults_of_looking(scene, name, what, answer)
        if is_html(answer):
            wrong += [f"{what}: {found}" for found in faults_of_part(answer)]
    assert wrong == [], "\n".join(wrong)


def faults_of_keeping(what: str, answer: Answered) -> Iterator[str]:
    """A browser asks anew for a family's page, and keeps nothing at all of a coach's."""
    headers, role = answer.response.headers, what.partition(",")[0]
    kept = set(headers.get("Cache-Control", "").split(", "))
    if is_html(answer) or "application/json" in headers.get("Content-Type", ""):
        if "coach" in role and "no-store" not in kept:
            yield f"a browser keeps it: {kept}"
        is_kept_well = "no-store" in kept or kept >= {"private", "no-cache"}
        if role in {"guardian", "athlete"} and not is_kept_well:
            yield f"others may be shown it: {kept}"
    if "camera=()" not in headers.get("Permissions-Policy", ""):
        yield "a page may use the camera"


def faults_of_looking(scene: Scene, name: str, what: str, answer: Answered) -> Iterator[str]:
    role = what.partition(",")[0]
    if unseen := not_written_down(scene, name, role, scene.own, answer):
        yield unseen


def faults_of_page(answer: Answered) -> Iterator[str]:
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    tree = parser.parse(answer.body)
    yield from (f"{code} at {place}" for place, code, _ in parser.errors)
    counts = Counter(element.tag for element in tree.iter() if isinstance(element.tag, str))
    yield from (f"{counts[tag]} {tag}" for tag in ("h1", "main", "title") if counts[tag] != 1)
    if not (tree.get("lang") or "").startswith("en"):
        yield "no language"
    title = (tree.findtext(".//title") or "").strip()
    if not re.fullmatch(r"\S.* · Fledge", title):
        yield f"the title {title!r}"
    if not is_skipped_to(tree):
        yield "no link that skips to the page"
    yield from faults_of_elements(tree)
    yield from faults_of_policy(answer, tree)


def faults_of_part(answer: Answered) -> Iterator[str]:
    body = answer.body
    if is_whole(answer):
        yield from faults_of_page(answer)
        return
    first = re.match(r"\s*<(\w+)", body)
    around = "tbody" if first and first[1] in PARTS_OF_A_TABLE else "div"
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    tree = parser.parseFragment(body, container=around)
    yield from (f"{code} at {place}" for place, code, _ in parser.errors)
    yield from faults_of_elements(tree, labels=False)
    yield from faults_of_policy(answer, tree)


def is_skipped_to(tree: Element) -> bool:
    links = (link for link in tree.iter("a") if "skip-link" in (link.get("class") or ""))
    link = next(links, None)
    return (
        link is not None and tree.find(f".//main[@id='{(link.get('href') or '')[1:]}']") is not None
    )


def faults_of_elements(tree: Element, *, labels: bool = True) -> Iterator[str]:
    elements = [each for each in tree.iter() if isinstance(each.tag, str)]
    ids = Counter(each.get("id") for each in elements if each.get("id"))
    yield from (f"the id {name} {count} times" for name, count in ids.items() if count > 1)
    for each in elements:
        yield from (
            f"<{each.tag} {name}>"
            for name in each.attrib
            if name == "style" or name.startswith(("on", "hx-on", "hx-vars"))
        )
        if (each.get("href") or "").strip().lower().startswith("javascript:"):
            yield f"a script as the address of <{each.tag}>"
        if each.get("name") == KEY_FIELD and not each.get("value"):
            yield "a form that could be sent twice: its idempotency key is empty"
        yield from faults_of_link(each)
    if labels:
        yield from faults_of_labels(tree, ids)


def faults_of_link(each: Element) -> Iterator[str]:
    """Whatever htmx does is a link or a form first."""
    if each.get("hx-post") and each.tag not in {"form", "button", "input", "select", "textarea"}:
        yield f"<{each.tag} hx-post> that no form stands behind"
    if each.get("hx-get") and each.tag == "a" and not each.get("href"):
        yield "<a hx-get> without href"
    if each.tag == "form" and each.get("hx-post") and not each.get("action"):
        yield "<form hx-post> without action"


def faults_of_labels(tree: Element, ids: Counter[str | None]) -> Iterator[str]:
    labelled = {label.get("for") for label in tree.iter("label")}
    inside = {id(field) for label in tree.iter("label") for field in label.iter()}
    for field in tree.iter():
        if field.tag not in {"input", "select", "textarea"}:
            continue
        if field.tag == "input" and field.get("type") in NEEDS_NO_LABEL:
            continue
        named = (field.get("aria-labelledby") or "").split()
        if not (
            (field.get("aria-label") or "").strip()
            or field.get("id") in labelled
            or id(field) in inside
            or (named and all(name in ids for name in named))
        ):
            yield f"<{field.tag} name={field.get('name')!r}> without a label"


def faults_of_policy(answer: Answered, tree: Element) -> Iterator[str]:
    """The content security policy holds: every script and style of the page has its nonce."""
    policy = answer.response.headers.get("Content-Security-Policy", "")
    if "default-src 'self'" not in policy or "unsafe" in policy:
        yield f"the policy {policy!r}"
    nonce = NONCE.search(policy)
    for each in tree.iter():
        # Data is no script: nothing runs it, and the policy does not look at it.
        if each.tag not in {"script", "style"} or each.get("type") == "application/json":
            continue
        if not each.get("nonce"):
            yield f"<{each.tag} src={each.get('src')!r}> without nonce"
        elif not nonce or each.get("nonce") != nonce[1]:
            yield f"<{each.tag}> with a nonce that is not the policy's"


# Addresses of one page.
SAME_PAGES = {
    frozenset({"program:build", "program:find", "program:session_minutes"}),
    frozenset({"program:child_day", "program:session_day"}),
}


def test_no_two_pages_have_one_title(scene):
    """As the coach sees them, who has most: a title says which of one's tabs is which."""
    named: dict[str, set[str]] = {}
    for name in TABLED:
        row = ALLOWED[name]
        if row.allowed("GET", "coach", htmx=False) == PAGE and "coach" in row.door:
            address = address_of(scene, name, "coach", (OWN,) * len(row.ids))
            body = ask(scene, Request("coach", "GET", False), address).body
            title = re.search(r"<title>(.*?)</title>", body, re.DOTALL)
            named.setdefault(title[1] if title else "", set()).add(name)
    shared = [names for names in named.values() if len(names) > 1 and names not in SAME_PAGES]
    assert shared == []


@pytest.mark.parametrize("page", ["400.html", "500.html"])
def test_a_page_that_is_drawn_without_a_request_is_well_made(page):
    """It gets no nonce, so it must have no script."""
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(
        get_template(page).render()
    )
    assert tree.findall(".//script") == tree.findall(".//style") == []
    assert len(tree.findall(".//h1")) == len(tree.findall(".//main")) == 1
    assert tree.findtext(".//title").endswith(" · Fledge")


def test_every_answer_of_html_is_looked_at():
    """That the tests above look at pages and parts at all."""
    pages = [name for name in TABLED if PAGE in _answers(name)]
    parts = [name for name in TABLED if PART in _answers(name)]
    assert len(pages) > 30
    assert len(parts) > 10
    assert len(ROUTES) == len(TABLED)


def _answers(name: str) -> set[str | None]:
    row = ALLOWED[name]
    return {
        row.allowed(method, role, htmx=htmx)
        for method in ("GET", "POST")
        for role in row.door
        for htmx in (False, True)
    }


@pytest.mark.parametrize("sheet", OWN_CSS, ids=lambda sheet: sheet.name)
def test_a_stylesheet_has_neither_id_selectors_nor_important(sheet):
    css = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL)
    assert "!important" not in css
    selectors = re.findall(r"([^{};]+)\{", css)
    assert [found.strip() for found in selectors if re.search(r"#[A-Za-z_-]", found)] == []


def test_an_address_that_only_takes_what_a_form_sends_says_so_to_whoever_opens_it(scene):
    for role in ("coach", ANONYMOUS):
        answer = ask(scene, Request(role, "GET", htmx=False), reverse("program:answer"))
        assert answer.response.status_code == 405
        assert answer.response.headers["Allow"] == "POST"
        assert "only takes what a page sends" in answer.body
        assert list(faults_of_page(answer)) == []
