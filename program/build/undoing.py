"""The way back of the builder: a coach's last edits undone, the newest first or the one that a page
shows.

Kept in the coach's own signed-in session is of each edit what it changed: values before and after,
what it added, and the rows that it deleted. An edit is undone by its key, so that a page undoes
what it showed, whatever another tab has done since, and only where all of it is still as the edit
left it, so that nobody's work is lost. Of a child there is nothing in it but what the coach decided
for it in a deleted slot, and the ids of assigned slots, so that what was published keeps pointing
at what it came from.
"""

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final, Literal

from django.contrib.sessions.backends.base import SessionBase
from django.db.models import F

from library.shared.acting import acting_for_the_program
from library.shared.dates import weekday_and_date
from program.common import stored_rows
from program.models import AssignedSlot, Override, Part, Session, Slot

KEPT: Final = 10
_KEY: Final = "builder_undo"
_FACTS: Final = ("name", "date", "place", "target_minutes", "note")
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

_MODELS: Final[Mapping[str, type[Session | Part | Slot]]] = {
    "session": Session,
    "part": Part,
    "slot": Slot,
}

type Rows = dict[str, dict[str, Any]]
"""Fields of rows as JSON has them, by keys such as "session-1", "part-3" and "slot-12"."""


class CannotUndo(Exception):
    """Raised with a sentence that says why."""


@dataclass(frozen=True)
class Deleted:
    """A slot or part that is out: where it stood (its part or session, by id, and the position
    there), the rows, and by slot the ids of the assigned slots that pointed at it."""

    kind: Literal["slot", "part"]
    pk: int
    name: str
    within_id: int
    position: int
    rows: str
    assigned: dict[str, list[int]]

    @property
    def key(self) -> str:
        """Of the row it was and will be again."""
        return f"{self.kind}-{self.pk}"


@dataclass(frozen=True)
class Edit:
    """The fields that an edit changed, `before` and `after` it; a row that stands in `after` alone
    was added."""

    key: str
    session_id: int
    before: Rows
    after: Rows
    deleted: Deleted | None = None

    @property
    def added(self) -> set[str]:
        return self.after.keys() - self.before.keys()


def rows_of(session: Session) -> Rows:
    """A session as it is written now."""
    facts = Session.objects.filter(pk=session.pk).values_list("pk", *_FACTS)
    parts = Part.objects.filter(session=session).values_list("pk", *_PART)
    slots = Slot.objects.filter(part__session=session).values_list("pk", *_SLOT)
    rows = {f"session-{pk}": dict(zip(_FACTS, values, strict=True)) for pk, *values in facts}
    for each in rows.values():
        each["date"] = each["date"].isoformat()
    rows |= {f"part-{pk}": dict(zip(_PART, values, strict=True)) for pk, *values in parts}
    rows |= {f"slot-{pk}": dict(zip(_SLOT, values, strict=True)) for pk, *values in slots}
    return rows


def remember(
    kept: SessionBase, session: Session, before: Rows, deleted: Deleted | None = None
) -> None:
    """After an edit, with what the session was `before` it."""
    now = rows_of(session)
    there = before.keys() & now.keys()
    changed = {
        key: [name for name in now[key] if now[key][name] != before[key][name]] for key in there
    }
    was = {
        key: {name: before[key][name] for name in names} for key, names in changed.items() if names
    }
    became = {key: {name: now[key][name] for name in was[key]} for key in was}
    added = {key: now[key] for key in now.keys() - before.keys()}
    if was or added or deleted:
        edit = Edit(uuid.uuid4().hex, session.pk, was, became | added, deleted)
        _store(kept, [*_edits(kept), edit])


def edits_of(kept: SessionBase, session_id: int) -> list[Edit]:
    """What may be undone in a session, newest last."""
    return [each for each in _edits(kept) if each.session_id == session_id]


@acting_for_the_program()
def delete_slot(slot: Slot) -> Deleted:
    """Delete it, and hand over what brings it back."""
    within, rows = slot.part_id, [slot, *_overrides([slot])]
    out = _deleted("slot", slot, str(slot.exercise), within, rows, _assigned([slot]))
    slot.delete()
    return out


@acting_for_the_program()
def delete_part(part: Part) -> Deleted:
    """The same of a part with its slots."""
    slots = list(part.slots.all())
    rows = [part, *slots, *_overrides(slots)]
    out = _deleted("part", part, part.name, part.session_id, rows, _assigned(slots))
    part.delete()
    return out


def _deleted(
    kind: Literal["slot", "part"],
    row: Slot | Part,
    name: str,
    within_id: int,
    rows: Iterable[Any],
    assigned: dict[str, list[int]],
) -> Deleted:
    text = stored_rows.as_text(rows)
    return Deleted(kind, row.pk, name, within_id, row.position, text, assigned)


def _overrides(slots: Iterable[Slot]) -> list[Override]:
    """The coach's choices for single children go and come back with their slot."""
    return list(Override.objects.filter(slot__in=slots))


def _assigned(slots: Iterable[Slot]) -> dict[str, list[int]]:
    pairs = AssignedSlot.objects.filter(written_slot__in=slots).values_list("written_slot", "pk")
    found: dict[str, list[int]] = {}
    for slot_id, pk in pairs:
        found.setdefault(str(slot_id), []).append(pk)
    return found


@acting_for_the_program()
def undo(kept: SessionBase, session: Session, key: str) -> str:
    """Undo an edit of the session, which is locked; the key of what comes back, "" for nothing.

    Raises CannotUndo, after which nothing may be written; the edit is not kept any longer then,
    either, so that the one before it can be undone.
    """
    edit = next((each for each in edits_of(kept, session.pk) if each.key == key), None)
    if edit is None:
        raise CannotUndo("There is nothing to undo here, or it was undone already.")
    _store(kept, [each for each in _edits(kept) if each.key != key])
    now = rows_of(session)
    _refuse_changed(edit, now)
    if edit.deleted:
        _bring_back(edit.deleted, now)
    _write_back(edit, session)
    _take_away(edit)
    return edit.deleted.key if edit.deleted else ""


def _refuse_changed(edit: Edit, now: Rows) -> None:
    """Raise CannotUndo where something is not as the edit left it. Where an added row stands does
    not matter."""
    for key, fields in edit.after.items():
        row = now.get(key)
        places = {"position", "part_id"} if key in edit.added else set()
        if row is None or any(row[name] != fields[name] for name in fields.keys() - places):
            raise CannotUndo(f"{_called(key, edit, now)} was changed since, so it stays as it is.")


def _called(key: str, edit: Edit, now: Rows) -> str:
    kind, pk = _read(key)
    row = now.get(key) or edit.after[key]
    if kind is Slot:
        slot = Slot.objects.select_related("exercise__current").filter(pk=pk).first()
        return str(slot.exercise) if slot else "An exercise"
    return str(row.get("name", "A part"))


def _bring_back(out: Deleted, now: Rows) -> None:
    """Make the rows again as they were, ids included, where they stood."""
    if out.key in now:
        raise CannotUndo(f"{out.name} is back already.")
    if out.kind == "slot" and f"part-{out.within_id}" not in now:
        raise CannotUndo(f"The part that {out.name} stood in is gone.")
    beside: Any = (
        Slot.objects.filter(part=out.within_id)
        if out.kind == "slot"
        else Part.objects.filter(session=out.within_id)
    )
    if beside.filter(position=out.position).exists():
        beside.filter(position__gte=out.position).update(position=F("position") + 1)
    stored_rows.insert(stored_rows.read(out.rows))
    for slot_id, assigned in out.assigned.items():
        AssignedSlot.objects.filter(pk__in=assigned, written_slot=None).update(
            written_slot=int(slot_id)
        )


def _write_back(edit: Edit, session: Session) -> None:
    """The values as they were; a row's version rises for whoever has it open."""
    by_model: dict[type[Session | Part | Slot], dict[int, dict[str, Any]]] = {}
    for key, fields in edit.before.items():
        model, pk = _read(key)
        by_model.setdefault(model, {})[pk] = fields
    if facts := by_model.pop(Session, {}).get(session.pk):
        _write_facts(facts, session)
    parts = {each["part_id"] for each in by_model.get(Slot, {}).values() if "part_id" in each}
    if Part.objects.filter(session=session, pk__in=parts).count() < len(parts):
        raise CannotUndo("The part that it stood in is gone.")
    for model, names in ((Part, _PART), (Slot, _SLOT)):
        _write_rows(model, names, by_model.get(model, {}))


def _write_facts(facts: dict[str, Any], session: Session) -> None:
    changes = dict(facts)
    if "date" in changes:
        changes["date"] = day = dt.date.fromisoformat(changes["date"])
        if not session.block.holds(day):
            raise CannotUndo(f"The block does not hold {weekday_and_date(day)} any more.")
    Session.objects.filter(pk=session.pk).update(**changes)


def _write_rows(
    model: type[Part] | type[Slot], names: Iterable[str], values: Mapping[int, dict[str, Any]]
) -> None:
    changed: list[Any] = list(model._default_manager.filter(pk__in=values))
    for row in changed:
        for name, value in values[row.pk].items():
            setattr(row, name, value)
        row.version += 1
    fields = [name.removesuffix("_id") for name in names]
    model._default_manager.bulk_update(changed, [*fields, "version"])


def _take_away(edit: Edit) -> None:
    """What the edit added, unless somebody has built on it."""
    added = [_read(key) for key in edit.added]
    parts = [pk for model, pk in added if model is Part]
    slots = [pk for model, pk in added if model is Slot]
    if Slot.objects.filter(part__in=parts).exclude(pk__in=slots).exists():
        raise CannotUndo("Something was put into the part since, so it stays.")
    if Override.objects.filter(slot__in=slots).exists():
        raise CannotUndo("Something is decided for a child in what was added, so it stays.")
    Slot.objects.filter(pk__in=slots).delete()
    Part.objects.filter(pk__in=parts).delete()


def _read(key: str) -> tuple[type[Session | Part | Slot], int]:
    kind, _, pk = key.partition("-")
    return _MODELS[kind], int(pk)


def _edits(kept: SessionBase) -> list[Edit]:
    return [_edit(entry) for entry in kept.get(_KEY, [])]


def _edit(entry: Mapping[str, Any]) -> Edit:
    deleted = entry["deleted"]
    return Edit(**{**entry, "deleted": Deleted(**deleted) if deleted else None})


def _store(kept: SessionBase, edits: list[Edit]) -> None:
    kept[_KEY] = [asdict(each) for each in edits[-KEPT:]]
