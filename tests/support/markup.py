"""Markup as tests read it, however its template is wrapped."""

import re
from typing import Any

import html5lib

FIELDS = {"input", "textarea", "select"}
TICKED = {"radio", "checkbox"}


def one_line(html: str) -> str:
    """With each run of white space as one blank, and none before the end of a tag."""
    return re.sub(r"\s+(>|/>)", r"\1", re.sub(r"\s+", " ", html))


def markup(answer: Any) -> str:
    """What a test client was answered with, in one line."""
    return one_line(answer.content.decode())


def fields_of(answer: Any) -> dict[str, str]:
    """What a browser would send of a page's longest form, untouched."""
    tree = html5lib.parse(answer.content, namespaceHTMLElements=False)
    form = max(tree.iter("form"), key=lambda each: len(_fields(each)))
    return {field.get("name"): _said(field) for field in _fields(form)}


def _fields(form: Any) -> list[Any]:
    named = (each for each in form.iter() if each.tag in FIELDS and each.get("name"))
    return [each for each in named if each.get("type") not in TICKED or _has(each, "checked")]


def _said(field: Any) -> str:
    if field.tag == "select":
        options = list(field.iter("option"))
        chosen = [each for each in options if _has(each, "selected")] or options[:1]
        return str(chosen[0].get("value"))
    if field.tag == "textarea":
        return (field.text or "").strip()
    return str(field.get("value", "on" if field.get("type") == "checkbox" else ""))


def _has(element: Any, attribute: str) -> bool:
    return element.get(attribute) is not None
