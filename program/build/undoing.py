"""The way back of the builder: what a coach's last edits changed, undone one after the other.

Kept in the coach's own signed-in session is how parts and slots stood before each edit, newest
last. An edit is undone only while nothing has been changed since, so that nobody's work is lost.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from django.contrib.sessions.backends.base import SessionBase

from program.common import deleted_items
from program.models import Part, Session, Slot

KEPT: Final = 10
_KEY: Final = "builder_edits"
_PART: Final = ("position", "name", "kind", "rounds", "rest_seconds")
_SLOT: Final = (
    "part_id",
    "position",
    "exercise_id",
    "amount",
    "tempo",
    "rest_seconds",
    "note",
    "rule",
    "max_steps_up",
)

type Values = dict[str, list[Any]]
"""Fields of rows, by the text of their keys: the coach's session is kept as JSON."""


@dataclass(frozen=True)
class Make:
    """What a session is made of."""

    parts: Values
    slots: Values


@dataclass(frozen=True)
class Edit:
    """A session as it was made up before an edit, and the version that the edit led to."""

    session_id: int
    version: int
    before: Make


class CannotUndo(Exception):
    """Raised with a sentence that says why."""


def make_of(session: Session) -> Make:
    parts = Part.objects.filter(session=session).values_list("pk", *_PART)
    slots = Slot.objects.filter(part__session=session).values_list("pk", *_SLOT)
    return Make(_by_key(parts), _by_key(slots))


def _by_key(rows: Any) -> Values:
    return {str(pk): list(values) for pk, *values in rows}


def remember(kept: SessionBase, session: Session, before: Make) -> None:
    """After an edit, with the session as the edit leaves it."""
    _store(kept, [*_edits(kept), Edit(session.pk, session.version, before)][-KEPT:])


def last_edit(kept: SessionBase, session: Session) -> Edit | None:
    """What would be undone; None where there is nothing, or somebody has changed it since."""
    edits = [each for each in _edits(kept) if each.session_id == session.pk]
    return edits[-1] if edits and edits[-1].version == session.version else None


def undo(kept: SessionBase, session: Session) -> None:
    """Undo the last edit of the session, which is locked, and whose version rises by one with it.

    Raises CannotUndo.
    """
    edit = last_edit(kept, session)
    if edit is None:
        raise CannotUndo("There is nothing to undo, or somebody has changed it since.")
    now = make_of(session)
    _bring_back(kept, session, edit.before, now)
    _take_away(kept, edit.before, now)
    _write(Part, edit.before.parts, _PART)
    _write(Slot, edit.before.slots, _SLOT)
    others = [each for each in _edits(kept) if each != edit]
    _store(kept, _followed_by(others, session))


def _followed_by(edits: list[Edit], session: Session) -> list[Edit]:
    """The edits, the last of this session's leading to the version that undoing leads to: it is
    the same session again."""
    for at in reversed(range(len(edits))):
        if edits[at].session_id == session.pk:
            edits[at] = Edit(session.pk, session.version + 1, edits[at].before)
            break
    return edits


def _bring_back(kept: SessionBase, session: Session, before: Make, now: Make) -> None:
    parts = before.parts.keys() - now.parts.keys()
    slots = before.slots.keys() - now.slots.keys()
    with_their_parts = {pk for pk in slots if str(before.slots[pk][0]) in parts}
    gone = [f"part-{pk}" for pk in parts] + [f"slot-{pk}" for pk in slots - with_their_parts]
    items = {item.row_key: item for item in deleted_items.of_session(kept, session)}
    if gone and not items.keys() >= set(gone):
        raise CannotUndo("What was deleted is not kept any more, so it cannot be brought back.")
    for key in gone:
        deleted_items.restore(kept, items[key])


def _take_away(kept: SessionBase, before: Make, now: Make) -> None:
    added = now.parts.keys() - before.parts.keys()
    for part in Part.objects.filter(pk__in=added):
        deleted_items.dismiss(kept, deleted_items.delete_part(kept, part))
    slots = now.slots.keys() - before.slots.keys()
    for slot in Slot.objects.filter(pk__in=slots).select_related("part", "exercise__current"):
        deleted_items.dismiss(kept, deleted_items.delete_slot(kept, slot))


def _write(model: type[Part] | type[Slot], values: Values, names: tuple[str, ...]) -> None:
    """The rows as they were, their versions raised for whoever has them open."""
    changed: list[Any] = []
    for row in model._default_manager.filter(pk__in=values):
        wanted = dict(zip(names, values[str(row.pk)], strict=True))
        if any(getattr(row, name) != value for name, value in wanted.items()):
            for name, value in wanted.items():
                setattr(row, name, value)
            row.version += 1
            changed.append(row)
    fields = [name.removesuffix("_id") for name in names]
    model._default_manager.bulk_update(changed, [*fields, "version"])


def _edits(kept: SessionBase) -> list[Edit]:
    return [_edit(entry) for entry in kept.get(_KEY, [])]


def _edit(entry: Mapping[str, Any]) -> Edit:
    return Edit(entry["session_id"], entry["version"], Make(**entry["before"]))


def _store(kept: SessionBase, edits: list[Edit]) -> None:
    kept[_KEY] = [asdict(each) for each in edits]
