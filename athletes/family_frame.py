"""The frame around a page about one child, which its family and its coaches both open."""

from typing import Any, NamedTuple

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from athletes.loaders import children_of
from athletes.models import Child, User
from library.shared.access import Request


class Link(NamedTuple):
    """A way to another page, in the head of this one."""

    label: str
    url: str
    current: bool = False
    waiting: int = 0  # things that want an answer there


def family_page(
    request: Request,
    template: str,
    child: Child,
    context: dict[str, Any],
    *,
    same_for_others: str = "program:child_day",
) -> HttpResponse:
    """Whoever is of the child's family, a coach or not, finds its other children at the top, each
    leading to the page of this name of theirs; its coaches the usual links. `as_family` says which.
    """
    family = own_children(request)
    frame: dict[str, Any] = {"base": "base_coach.html", "as_family": False, "says_who": True}
    if child in family:
        siblings = _siblings(family, child, same_for_others)
        frame = family_frame() | {"siblings": siblings, "says_who": not siblings}
    return render(request, template, frame | {"child": child} | context)


def own_children(request: Request) -> list[Child]:
    """`children_of` whoever asks: one query for a request."""
    found: list[Child] | None = getattr(request, "own_children", None)
    if found is None:
        found = request.own_children = children_of(request.user)  # type: ignore[attr-defined]
    return found


def family_frame() -> dict[str, Any]:
    """Of a page that is a family's, whoever opens it."""
    return {"base": "base_family.html", "as_family": True}


def account_frame(user: User) -> dict[str, Any]:
    """Of a page about one's own account: a coach's is among those of coaching."""
    return family_frame() if user.is_family else {"base": "base_coach.html", "as_family": False}


def _siblings(family: list[Child], shown: Child, page: str) -> list[Link]:
    if len(family) < 2:
        return []
    return [
        Link(child.given_name, reverse(page, args=[child.public_id]), child == shown)
        for child in family
    ]
