from typing import Any

from django import forms
from django.db.models import Q

from library.forms.items import by_kind
from library.models import Exercise, ExerciseQuerySet, Item, Pattern, Sides
from library.models.exercises import lands

NOTHING, ROOM = "nothing", "room"
RETIRED = Exercise.Status.RETIRED


class FindForm(forms.Form):
    """What a coach looks for in the library. Sent by GET; empty fields ask for nothing."""

    q = forms.CharField(
        label="Search",
        required=False,
        max_length=80,
        widget=forms.SearchInput(
            attrs={"placeholder": "A name, a pattern, a word", "autocomplete": "off"}
        ),
    )
    pattern = forms.ChoiceField(
        label="Pattern", required=False, choices=[("", "any"), *Pattern.choices]
    )
    kit = forms.ChoiceField(label="Needs", required=False)
    sides = forms.ChoiceField(label="Sides", required=False, choices=[("", "any"), *Sides.choices])
    landings = forms.ChoiceField(
        label="Landings",
        required=False,
        choices=[("", "any"), ("with", "with landings"), ("without", "no landings")],
    )
    status = forms.ChoiceField(
        label="State",
        required=False,
        choices=[("", "all but retired"), *Exercise.Status.choices],
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.items = {item.slug: item for item in Item.objects.all()}
        self.fields["kit"].choices = [  # type: ignore[attr-defined]
            ("", "anything"),
            (NOTHING, "nothing at all"),
            (ROOM, "floor and room only"),
            *[(f"uses: {kind}", items) for kind, items in by_kind(self.items.values())],
        ]

    @property
    def narrows(self) -> bool:
        """Whether anything but the words of the search is asked for."""
        return any(self.data.get(name) for name in self.fields if name != "q")

    def found(self) -> ExerciseQuerySet:
        """The exercises asked for, best first; a field that makes no sense asks for nothing."""
        self.is_valid()
        asked = self.cleaned_data
        narrowed = Q(status=asked["status"]) if asked.get("status") else ~Q(status=RETIRED)
        if asked.get("pattern"):
            narrowed &= Q(current__pattern=asked["pattern"])
        if asked.get("sides"):
            narrowed &= Q(current__sides=asked["sides"])
        if asked.get("landings"):
            landing = lands("current__")
            narrowed &= landing if asked["landings"] == "with" else ~landing
        exercises = Exercise.objects.with_current().filter(narrowed)
        return self._with_kit(exercises, asked.get("kit", "")).search(asked.get("q", ""))

    def _with_kit(self, exercises: ExerciseQuerySet, kit: str) -> ExerciseQuerySet:
        if kit == NOTHING:
            return exercises.needing_nothing()
        if kit == ROOM:
            return exercises.needing_only_room()
        return exercises.that_use(self.items[kit]) if kit else exercises
