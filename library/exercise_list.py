"""The list of exercises as its template reads it: one page of rows, grouped by pathway."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from django.core.paginator import Page, Paginator

from library.forms.search import FindForm
from library.models import Exercise, Pathway
from library.pathway_order import PathwayOrder

PER_PAGE = 60


@dataclass(frozen=True)
class Row:
    exercise: Exercise
    pathway: Pathway | None


@dataclass(frozen=True)
class Group:
    """Rows under one heading; without one where the best match comes first."""

    rows: tuple[Row, ...]
    pathway: Pathway | None = None
    has_heading: bool = True


@dataclass(frozen=True)
class Found:
    total: int
    page: Page[str]
    groups: tuple[Group, ...]


def found(form: FindForm, shelf: PathwayOrder, page: str) -> Found:
    """One page of what the form asks for: by pathway, or by likeness where words are sought."""
    slugs = list(form.found().values_list("slug", flat=True))
    by_likeness = bool(form.cleaned_data.get("q"))
    if not by_likeness:
        slugs = shelf.arranged(slugs)
    one = Paginator(slugs, PER_PAGE).get_page(page)
    here = Exercise.objects.with_full_page().in_bulk(list(one), field_name="slug")
    rows = [Row(here[slug], shelf.pathway_of(slug)) for slug in one if slug in here]
    return Found(len(slugs), one, tuple(_one_group(rows) if by_likeness else _by_pathway(rows)))


def _one_group(rows: list[Row]) -> Iterator[Group]:
    if rows:
        yield Group(tuple(rows), has_heading=False)


def _by_pathway(rows: list[Row]) -> Iterator[Group]:
    for pathway, together in groupby(rows, key=lambda row: row.pathway):
        yield Group(tuple(together), pathway)
