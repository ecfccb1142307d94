"""Rows kept as JSON while they are out of the database, and made again as they were."""

from collections.abc import Iterable
from typing import Any

from django.core import serializers
from django.db import models

from athletes.models import Child

type Rows = list[Any]
"""Rows read back and not yet written; `object` of each is the row itself."""


def as_text(rows: Iterable[models.Model]) -> str:
    """The rows in the order in which they can be made again: what is pointed at comes first."""
    text: str = serializers.serialize("json", rows)
    return text


def read(text: str) -> Rows:
    """The rows of `as_text` but for those about a child that is erased since; none of an empty
    text."""
    rows = list(serializers.deserialize("json", text)) if text else []
    children = {each.object.child_id for each in rows if hasattr(each.object, "child_id")}
    if not children:
        return rows
    there = set(Child.objects.filter(pk__in=children).values_list("pk", flat=True))
    return [each for each in rows if getattr(each.object, "child_id", None) in there | {None}]


def insert(rows: Rows) -> None:
    """Make them again, ids included. Raises IntegrityError where one is there, or lacks what it
    points at."""
    for row in rows:
        row.save(force_insert=True)
