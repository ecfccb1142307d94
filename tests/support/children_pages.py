"""Reading a page as a person does, and holding it to what every page has."""

import re
from collections import Counter
from html import unescape

import html5lib


def text(answer) -> str:
    """The words of a page, as they are read."""
    body = answer.content.decode()
    body = re.sub(r"<(script|style|svg).*?</\1>", " ", body, flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def assert_well_made(answer) -> None:
    """Valid HTML with one main, one h1, a title of its own and no id twice."""
    assert answer.status_code == 200
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    tree = parser.parse(answer.content.decode())
    # A form's own data attributes and svg are fine; anything the parser had to repair is not.
    assert [code for _, code, _ in parser.errors] == []
    assert len(tree.findall(".//main")) == 1
    assert len(tree.findall(".//h1")) == 1
    assert tree.find(".//title").text.strip() not in {"", "Fledge"}
    ids = Counter(element.get("id") for element in tree.iter() if element.get("id"))
    assert [name for name, count in ids.items() if count > 1] == []


def errors_of(answer) -> str:
    """What the page says is wrong, field by field."""
    body = answer.content.decode()
    found = re.findall(r'class="(?:invalid-feedback|alert alert-danger)[^>]*>(.*?)</', body, re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", " ".join(found))).split())
