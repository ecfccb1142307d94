"""The frame around a page that a family and a coach both use."""

from typing import Any, NamedTuple

from django.urls import reverse

from athletes.models import Child, User
from library.shared.access import Request


class Tab(NamedTuple):
    label: str
    url: str
    current: bool


def frame(request: Request, child: Child, page: str) -> dict[str, Any]:
    """A family finds this page of its other children at the top, a coach the usual stations."""
    if not request.user.is_family:
        return {"base": "base_coach.html", "child": child}
    return {"base": "base_family.html", "child": child, "nav": _tabs(request.user, child, page)}


def _tabs(user: User, shown: Child, page: str) -> list[Tab]:
    children = list(Child.objects.visible_to(user))
    if len(children) < 2:
        return []
    return [
        Tab(child.given_name, reverse(page, args=[child.public_id]), child == shown)
        for child in children
    ]
