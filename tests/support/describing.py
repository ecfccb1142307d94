"""An exercise said otherwise, as its form saves it."""

from dataclasses import replace
from typing import Any

from library.models import Exercise
from library.revisions import Content, NeedContent, revise


def describe(slug: str, needs: tuple[NeedContent, ...] | None = None, **fields: Any) -> None:
    exercise = Exercise.objects.select_related("current").get(slug=slug)
    said = Content.of(exercise.current)
    said = replace(said, fields={**said.fields, **fields})
    said = said if needs is None else replace(said, needs=needs)
    revise(exercise, said, by="A coach", base=exercise.current.number)
