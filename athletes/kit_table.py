"""What is at home, of everybody in a cohort: rows of children, columns of things."""

import datetime as dt
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import groupby
from typing import Final, Self

from django.core.paginator import Page, Paginator
from django.utils import timezone

from athletes.home_kit import items_at_home
from athletes.models import Child, Cohort, Guardianship, HomeKit
from library.models import Item
from library.usual_home import USUAL_HOME_KIT

PER_PAGE: Final = 60
GROUPS: Final = (
    (Item.Kind.FLOOR, "Floors"),
    (Item.Kind.SPACE, "Room"),
    (Item.Kind.THING, "Things"),
)


@dataclass(frozen=True)
class Cell:
    item: Item
    ticked: bool


@dataclass(frozen=True)
class Row:
    """A child with what is ticked: what was said, or what is taken to be there while nobody has.
    `mine` is what somebody ticked while another one answered."""

    child: Child
    cells: Sequence[Cell]
    answered: HomeKit | None
    is_by_family: bool
    mine: Sequence[Item] = ()

    @property
    def mark(self) -> str:
        return self.answered.mark if self.answered else ""

    @property
    def shown(self) -> str:
        """The keys of what is ticked, as the form carries along what it showed."""
        return ",".join(str(cell.item.pk) for cell in self.cells if cell.ticked)


@dataclass(frozen=True)
class Columns:
    """The things of one kind."""

    words: str
    items: Sequence[Item]


@dataclass(frozen=True)
class KitTable:
    cohort: Cohort
    groups: Sequence[Columns]
    rows: Sequence[Row]
    page: Page[Child]
    usual: Set[int]
    """The keys of what is taken to be in a usual home."""

    @classmethod
    def of(
        cls,
        cohort: Cohort,
        day: dt.date,
        page: str | None,
        ticks: Mapping[int, Set[int]] | None = None,
        mine: Mapping[int, Set[int]] | None = None,
    ) -> Self:
        """A page of the cohort's children on a day, in a fixed number of queries. `ticks` are what
        a form was sent with, by child, and stand in place of what was said; `mine` stand beside."""
        groups = _groups()
        items = [item for group in groups for item in group.items]
        usual = {item.pk for item in items if item.slug in USUAL_HOME_KIT}
        shown = Paginator(Child.objects.enrolled_in(cohort, day), PER_PAGE).get_page(page)
        kits = {kit.child_id: kit for kit in HomeKit.objects.filter(child__in=shown).with_items()}
        families = _families(shown)
        rows = [
            _row(
                child,
                items,
                kits.get(child.pk),
                families,
                (ticks or {}).get(child.pk, _said(kits.get(child.pk), usual)),
                (mine or {}).get(child.pk, frozenset()),
            )
            for child in shown
        ]
        return cls(cohort, groups, rows, shown, usual)

    @property
    def items(self) -> list[Item]:
        return [item for group in self.groups for item in group.items]

    @property
    def unanswered(self) -> list[Child]:
        return [row.child for row in self.rows if row.answered is None]

    @property
    def asked_today(self) -> bool:
        """Whether everybody who has not said was asked on this day already."""
        return not may_be_asked(self.unanswered, timezone.localdate())


def may_be_asked(children: Sequence[Child], today: dt.date) -> list[Child]:
    """Nobody is asked twice on a day."""
    return [
        child
        for child in children
        if child.kit_asked_at is None or timezone.localdate(child.kit_asked_at) < today
    ]


def not_answered(cohort: Cohort, day: dt.date) -> list[Child]:
    return list(Child.objects.enrolled_in(cohort, day).filter(home_kit__isnull=True))


def _groups() -> list[Columns]:
    order = {kind: place for place, (kind, _) in enumerate(GROUPS)}
    items = sorted(items_at_home(), key=lambda item: (order[Item.Kind(item.kind)], item.name))
    words = dict(GROUPS)
    return [
        Columns(words[Item.Kind(kind)], list(those))
        for kind, those in groupby(items, key=lambda item: item.kind)
    ]


def _said(kit: HomeKit | None, usual: Set[int]) -> Set[int]:
    return usual if kit is None else {item.pk for item in kit.items.all()}


def _families(children: Page[Child]) -> set[tuple[int, int]]:
    """Each child's key with those of its guardians and its own sign-in."""
    pairs = Guardianship.objects.filter(child__in=children).values_list("child", "guardian")
    return {*pairs, *((child.pk, child.user_id) for child in children if child.user_id)}


def _row(
    child: Child,
    items: Sequence[Item],
    kit: HomeKit | None,
    families: Set[tuple[int, int]],
    ticked: Set[int],
    mine: Set[int],
) -> Row:
    return Row(
        child=child,
        cells=[Cell(item, item.pk in ticked) for item in items],
        answered=kit,
        is_by_family=kit is not None and _is_by_family(kit, families),
        mine=[item for item in items if item.pk in mine],
    )


def _is_by_family(kit: HomeKit, families: Set[tuple[int, int]]) -> bool:
    """Also by one who is no longer here, since only families' accounts go with a child."""
    by = kit.answered_by
    return by is None or not by.is_coach or (kit.child_id, by.pk) in families
