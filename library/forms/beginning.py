"""Beginning a new exercise from a similar one."""

from itertools import groupby
from typing import Any

from django import forms

from library.models import Exercise, ExerciseRevision, Pattern

type Choices = list[tuple[str, list[tuple[str, str]]]]


class BeginForm(forms.Form):
    """Which exercise a new one is like. Sent by GET; without an answer the form is empty."""

    like = forms.ChoiceField(label="Begin from", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["like"].choices = [("", "an empty form"), *_by_pattern()]  # type: ignore[attr-defined]

    @property
    def chosen(self) -> ExerciseRevision | None:
        """What the chosen exercise says, with its needs fetched; None where none was chosen."""
        slug = self.cleaned_data.get("like") if self.is_valid() else ""
        if not slug:
            return None
        return Exercise.objects.with_full_page().get(slug=slug).current


def _by_pattern() -> Choices:
    """Every exercise but the retired, by name under its pattern."""
    rows = (
        Exercise.objects.with_current()
        .exclude(status=Exercise.Status.RETIRED)
        .order_by("current__pattern", "current__name")
        .values_list("current__pattern", "slug", "current__name")
    )
    return [
        (Pattern(pattern).label, [(slug, name) for _, slug, name in those])
        for pattern, those in groupby(rows, key=lambda row: row[0])
    ]
