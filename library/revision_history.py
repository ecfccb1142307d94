"""What changed from one revision of an exercise to the next, in words."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from library.body import Region
from library.figures.movement import drawn
from library.landing import ContactClass
from library.models import ExerciseRevision, Measure, Pattern, Sides
from library.revisions import Content, NeedContent
from library.shared.uploads.keeping import kind_of

LABELS = {
    "name": "Name",
    "other_names": "Also called",
    "pattern": "Pattern",
    "sides": "Sides",
    "measure": "Measured in",
    "usual": "Usual dose",
    "low": "Least",
    "high": "Most",
    "tempo": "Tempo",
    "plain": "In one sentence",
    "setup": "Set-up",
    "setup_seconds": "Seconds to set up",
    "cues": "Cues",
    "faults": "Faults",
    "feel": "What it should feel like",
    "stop": "When to stop",
    "caution": "Caution",
    "contacts": "Ground contacts",
    "contact_class": "How hard they are",
    "no_landing_because": "No landing, because",
    "loads": "Carries load",
    "moves": "Moves or steadies",
    "minimum_age": "From age",
    "watch": "A grown-up watches",
    "needs": "Needs",
    "movement": "Figure",
    "picture": "Photo or clip",
    "picture_words": "What it shows",
}
CHOICES: dict[str, Mapping[Any, str]] = {
    "pattern": dict(Pattern.choices),
    "sides": dict(Sides.choices),
    "measure": dict(Measure.choices),
    "watch": {True: "yes", False: "no"},
    "contact_class": {each.value: each.label for each in ContactClass},
}


@dataclass(frozen=True)
class Change:
    """A field that says something else now; each side as lines, none where it said nothing."""

    label: str
    before: tuple[str, ...]
    after: tuple[str, ...]


@dataclass(frozen=True)
class Entry:
    """A revision, and how it differs from the one before it; the first differs from nothing."""

    revision: ExerciseRevision
    changes: tuple[Change, ...]


def history(revisions: Iterable[ExerciseRevision], items: Mapping[str, str]) -> list[Entry]:
    """Newest first. `revisions` come newest first with needs and their items prefetched; `items`
    gives an item's name by its slug."""
    said = [(revision, Content.of(revision)) for revision in revisions]
    older = [content for _, content in said[1:]]
    entries = [
        Entry(revision, changes(before, content, items))
        for (revision, content), before in zip(said, older, strict=False)
    ]
    return [*entries, *(Entry(revision, ()) for revision, _ in said[-1:])]


def changes(before: Content, after: Content, items: Mapping[str, str]) -> tuple[Change, ...]:
    return tuple(
        Change(LABELS[name], _lines(before, name, items), _lines(after, name, items))
        for name in after.differences(before)
    )


def _lines(content: Content, name: str, items: Mapping[str, str]) -> tuple[str, ...]:
    if name == "needs":
        return tuple(_need(need, items) for need in content.needs)
    said = content.fields[name]
    if name == "faults":
        return tuple(f"{fault['see']}: “{fault['say']}”" for fault in said)
    if name in {"loads", "moves"}:
        return tuple(Region(region).label for region in said)
    if name in {"cues", "other_names"}:
        return tuple(said)
    if name == "movement":
        return (_figure(said),)
    if name == "picture":
        return (f"a {kind_of(said)}",) if said else ()
    shown = str(CHOICES[name][said] if name in CHOICES else said)
    return (shown,) if shown else ()


def _figure(movement: str) -> str:
    """How a movement of a revision's own is told from another; "" is the exercise's drawing."""
    own = drawn("", movement) if movement else None
    return f"a coach's figure: {own.describe}" if own else "the figure drawn for it"


def _need(need: NeedContent, items: Mapping[str, str]) -> str:
    met_by = sorted(items.get(slug, slug) for slug in need.items)
    return f"{need.what} ({' or '.join(met_by)})"


@dataclass(frozen=True)
class News:
    """What somebody else has written since an edit began."""

    current: ExerciseRevision
    changes: tuple[Change, ...]


def news_since(base: int | None, current: ExerciseRevision, items: Mapping[str, str]) -> News:
    """How the current revision differs from the one of number `base`, if there is such a one."""
    revisions = ExerciseRevision.objects.filter(exercise=current.exercise_id)
    before = revisions.filter(number=base or 0).prefetch_related("needs__items").first()
    if before is None:
        return News(current, ())
    return News(current, changes(Content.of(before), Content.of(current), items))
