"""What a family is asked about its home, and what is ticked before it answers."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Self

from django.db.models import QuerySet

from athletes.models import Child, HomeKit, User
from library.models import Item

# Found at a venue and not asked of a family, though one that has it loses nothing.
ONLY_AT_A_VENUE: Final = (
    "bench",
    "box",
    "cones",
    "low-hurdles",
    "hanging-bar",
    "medicine-ball",
    "sliders",
)
QUESTIONS: Final = (
    (Item.Kind.FLOOR, "Which floors are there?"),
    (Item.Kind.SPACE, "Which room is there?"),
    (Item.Kind.THING, "Which things are there?"),
)


def items_at_home() -> QuerySet[Item]:
    return Item.objects.exclude(slug__in=ONLY_AT_A_VENUE)


@dataclass(frozen=True)
class Tile:
    item: Item
    ticked: bool


@dataclass(frozen=True)
class Question:
    words: str
    tiles: Sequence[Tile]


@dataclass(frozen=True)
class KitPage:
    """The questions with what is ticked: what was just sent, what was said before, or else what
    was said for a brother or sister, `remembered`."""

    form: Any
    questions: Sequence[Question]
    answered: HomeKit | None
    remembered: HomeKit | None

    @classmethod
    def of(cls, child: Child, user: User, form: Any) -> Self:
        answered = HomeKit.objects.filter(child=child).with_items().first()
        remembered = None if answered else _of_a_sibling(child, user)
        said = answered or remembered
        ticked = {str(item.pk) for item in said.items.all()} if said else set()
        if form.is_bound:
            ticked = set(form.data.getlist("items"))
        return cls(form, _questions(ticked), answered, remembered)


def _questions(ticked: set[str]) -> list[Question]:
    items = list(items_at_home())
    return [
        Question(words, [Tile(item, str(item.pk) in ticked) for item in items if item.kind == kind])
        for kind, words in QUESTIONS
    ]


def _of_a_sibling(child: Child, user: User) -> HomeKit | None:
    """The latest answer for a child with a guardian in common whom this person may see, too."""
    siblings = HomeKit.objects.visible_to(user).filter(
        child__guardianships__guardian__guardianships__child=child
    )
    latest = siblings.exclude(child=child).select_related("child").with_items()
    return latest.order_by("-answered_at").first()
