"""What is at home, of many children at once."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from django import forms

from athletes.changes import answer_kits
from athletes.kit_table import KitTable
from athletes.models import Child, User
from library.models import Item
from library.shared.ids import whole_number

NO_LONGER_THERE: Final = "One of these is no longer on the list. Look again, then save."


class KitTableForm(forms.Form):
    """Each child's row with what it showed. Only rows that were touched are said anything of: those
    that hold other ticks than were shown, and those of which somebody says that they are so."""

    def __init__(self, *args: Any, table: KitTable, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._children = {row.child.pk: row.child for row in table.rows}
        self._items = {item.pk: item for item in table.items}
        choices = [(str(key), item.name) for key, item in self._items.items()]
        for key in self._children:
            self.fields[f"has-{key}"] = forms.MultipleChoiceField(
                choices=choices,
                required=False,
                error_messages={"invalid_choice": NO_LONGER_THERE, "invalid_list": NO_LONGER_THERE},
            )
            for name in ("was", "mark"):
                self.fields[f"{name}-{key}"] = forms.CharField(required=False, strip=False)
            self.fields[f"told-{key}"] = forms.BooleanField(required=False)

    @property
    def trouble(self) -> str:
        """What is wrong with it, said once."""
        return NO_LONGER_THERE if self.errors else ""

    @property
    def ticks(self) -> dict[int, set[int]]:
        """What it was sent with, by child; whoever came since then is not in it."""
        return {key: set(filter(None, map(whole_number, self._ticked(key)))) for key in self._sent}

    def _ticked(self, key: int) -> list[str]:
        name = f"has-{key}"
        value: list[str] = self.fields[name].widget.value_from_datadict(self.data, {}, name)
        return value

    @property
    def _sent(self) -> list[int]:
        return [key for key in self._children if f"mark-{key}" in self.data]

    def save(self, by: User) -> "SavedKits":
        answers = {self._children[key]: self._said(key) for key in self._sent if self._touched(key)}
        seen = {child: self.cleaned_data[f"mark-{child.pk}"] for child in answers}
        return SavedKits(answers, answer_kits(answers, seen, by) if answers else ())

    def _touched(self, key: int) -> bool:
        shown = {whole_number(each) for each in self.cleaned_data[f"was-{key}"].split(",") if each}
        ticked = {item.pk for item in self._said(key)}
        return self.cleaned_data[f"told-{key}"] or shown != ticked

    def _said(self, key: int) -> list[Item]:
        return [self._items[int(each)] for each in self.cleaned_data[f"has-{key}"]]


class SavedKits:
    """What came of a save: of whom something was kept, and of whom nothing, because somebody had
    answered meanwhile."""

    def __init__(self, answers: Mapping[Child, Sequence[Item]], unseen: Sequence[Child]) -> None:
        self.kept = [child for child in answers if child not in unseen]
        self.unseen = {child.pk: {item.pk for item in answers[child]} for child in unseen}
