"""Where children stand on pathways."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms

from athletes.changes import place_all
from athletes.models import Child, Placement, User
from athletes.placement_ladder import Ladder
from library.models import Exercise, Pathway


class FirstPlacementForm(forms.Form):
    """Per pathway the hardest exercise seen done well; what was not seen is left alone."""

    why = forms.CharField(
        label="How you know",
        max_length=200,
        required=False,
        help_text="Optional, kept in the history. For example: seen at the first session.",
        error_messages={"max_length": "At most 200 characters."},
    )

    def __init__(
        self,
        *args: Any,
        ladders: Iterable[Ladder],
        current: Mapping[int, Placement],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.ladders = {f"on-{each.pathway.slug}": each for each in ladders if each.rungs}
        for name, ladder in self.ladders.items():
            placement = current.get(ladder.pathway.pk)
            stands = placement.exercise.slug if placement else ""
            self.fields[name] = _hardest_done_well(ladder, stands)
        self.order_fields([*self.ladders, "why"])

    @property
    def chosen(self) -> dict[Pathway, Exercise]:
        found = {}
        for name, ladder in self.ladders.items():
            exercise = ladder.find(self.cleaned_data[name])
            if exercise is not None:
                found[ladder.pathway] = exercise
        return found

    def place(self, child: Child, by: User) -> int:
        """How many pathways the child is on now that were ticked."""
        return len(place_all(child, self.chosen, by, self.cleaned_data["why"]))


def _hardest_done_well(ladder: Ladder, stands: str) -> forms.ChoiceField:
    exercises = [(rung.exercise.slug, str(rung.exercise)) for rung in ladder.rungs]
    return forms.ChoiceField(
        label=ladder.pathway.name,
        choices=[("", "not seen yet"), *exercises],
        widget=forms.RadioSelect,
        required=False,
        initial=stands,
        error_messages={
            "invalid_choice": "This exercise is no longer on the pathway. Choose another."
        },
    )


class MoveForm(forms.Form):
    """One child to another exercise of the board's pathway: "<child's public id>:<slug>"."""

    move = forms.RegexField(
        r"^[0-9a-f-]{36}:[-a-zA-Z0-9_]{1,80}$",
        error_messages={
            "required": "Choose an exercise first.",
            "invalid": "Choose an exercise first.",
        },
    )
    why = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        error_messages={"max_length": "At most 200 characters."},
    )
