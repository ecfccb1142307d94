from collections.abc import Iterable

from library.models import Item

type Choices = list[tuple[str, list[tuple[str, str]]]]


def by_kind(items: Iterable[Item]) -> Choices:
    """Items as choices under the name of their kind; a kind without any is left out."""
    items = list(items)
    kinds = [kind for kind in Item.Kind if any(item.kind == kind for item in items)]
    return [
        (kind.label, [(item.slug, item.name) for item in items if item.kind == kind])
        for kind in kinds
    ]
