"""Two people at one form: whoever comes second is told, and nothing is overwritten unseen.

What is shown has a mark, a short text or a number that is another one after any change: the version
of a row, or what a row, a page's sessions or a log makes of itself. A form carries the mark it was
filled from, and `refuse_unseen` compares it with the one of now.

`ConflictAwareForm` carries, for each field, the value that was seen then as well. What was not
touched is never written; what two people touched is put to the second one.
"""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F

from program.models import Session

_UNKNOWN: Final = object()


class EditConflict(Exception):
    """Somebody has changed it since it was seen. Nothing was written; the message says what is
    changed, by whom where that is known, and what to do."""


def is_unseen(seen: str | int | None, mark: str | int) -> bool:
    """Whether somebody who carried the mark `seen`, None for none, has not seen it as it is now, at
    `mark`."""
    return str(seen) != str(mark)


def refuse_unseen(seen: str | int | None, mark: str | int, words: str) -> None:
    """Raise EditConflict with `words` where it was changed since it was seen at `seen`. The caller
    holds the lock under which `mark` was read."""
    if is_unseen(seen, mark):
        raise EditConflict(words)


@dataclass(frozen=True)
class Conflict:
    """A field that both changed: the value in the form and the stored one, as they are shown."""

    name: str
    label: str
    mine: str
    theirs: str


class ConflictAwareForm(forms.ModelForm[Any]):
    """A form over a stored row that remembers what its fields held when it was filled.

    `over` names a version whose conflicts the person has seen and decided to write over.
    """

    conflicts: Sequence[Conflict] = ()
    is_written = False

    def clean(self) -> dict[str, Any]:
        # Without super(): it would ask the database about every check constraint, and each of
        # those is a message at its field here.
        return self.cleaned_data

    @property
    def seen(self) -> list[tuple[str, str]]:
        """Hidden names and values that belong into the form: the row as it was seen, which for a
        form that is shown again is what it was sent with."""
        names = [*(f"seen-{name}" for name in self.fields), "version"]
        if self.is_bound:
            return [(name, self.data[name]) for name in names if name in self.data]
        stored = [*map(self._stored, self.fields), str(getattr(self.instance, "version", ""))]
        return list(zip(names, stored, strict=True))

    def _stored(self, name: str) -> str:
        value = self.fields[name].prepare_value(self.initial.get(name))
        return "" if value is None else str(value)

    def changes_to(self, row: models.Model) -> dict[str, Any]:
        """What the person changed on `row`, as it is stored now; empty while there are conflicts.

        `conflicts` then holds what somebody else has changed meanwhile as well.
        """
        changes = {
            name: mine
            for name, mine in self.cleaned_data.items()
            if mine != self._base(name) and mine != getattr(row, name)
        }
        if not self._has_seen(row):
            self.conflicts = [
                self._conflict(name, row)
                for name in changes
                if getattr(row, name) != self._base(name)
            ]
        return {} if self.conflicts else changes

    def _base(self, name: str) -> Any:
        raw = self.data.get(f"seen-{name}")
        if raw is None:
            return _UNKNOWN
        try:
            return self.fields[name].to_python(raw)
        except ValidationError:
            return _UNKNOWN

    def _has_seen(self, row: models.Model) -> bool:
        version = getattr(row, "version", None)
        carried = self.data.get("version"), self.data.get("over")
        return version is not None and not all(is_unseen(seen, version) for seen in carried)

    def _conflict(self, name: str, row: models.Model) -> Conflict:
        field = self.fields[name]
        mine, theirs = self.cleaned_data[name], getattr(row, name)
        return Conflict(name, str(field.label), _shown(field, mine), _shown(field, theirs))


def _shown(field: forms.Field, value: Any) -> str:
    if isinstance(field, forms.ChoiceField):
        choices: Any = field.choices
        return str(dict(choices).get(value, value))
    return "nothing" if value in (None, "") else str(value)


def write(row: models.Model, changes: dict[str, Any]) -> None:
    """Write the changed fields and nothing else; the caller holds the lock that guards `row`."""
    manager = type(row)._default_manager
    if not hasattr(row, "version"):
        manager.filter(pk=row.pk).update(**changes)
        return
    written = manager.filter(pk=row.pk, version=row.version).update(
        **changes, version=F("version") + 1
    )
    if not written:
        raise RuntimeError("the row changed under its lock")


def mark_of(sessions: Iterable[Session]) -> str:
    """What these sessions are like, in a short text that is another one after any edit."""
    told = ";".join(
        f"{s.pk}:{s.version}:{s.date}:{s.published_version}"
        for s in sorted(sessions, key=lambda session: session.pk)
    )
    return hashlib.sha256(told.encode()).hexdigest()[:16]
