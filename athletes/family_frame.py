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
    """A family finds its other children at the top, each leading to the page of this name of
    theirs; a coach the usual links."""
    frame: dict[str, Any] = {"base": "base_coach.html", "says_who": True}
    if request.user.is_family:
        siblings = _siblings(request.user, child, same_for_others)
        frame = {"base": "base_family.html", "nav": siblings, "says_who": not siblings}
    return render(request, template, frame | {"child": child} | context)


def _siblings(user: User, shown: Child, page: str) -> list[Link]:
    children = children_of(user)
    if len(children) < 2:
        return []
    return [
        Link(child.given_name, reverse(page, args=[child.public_id]), child == shown)
        for child in children
    ]
