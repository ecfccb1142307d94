"""A tempo as a field of a form."""

from typing import Any

from django import forms

from library.tempo import Tempo

LONGEST_TYPED = 24
"""Characters: room for spaces around every dash."""


class TempoField(forms.CharField):
    """A tempo however it is typed, as it is written; "" where there is none.

    One that cannot be read is refused in `Tempo`'s own words.
    """

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs | {"max_length": LONGEST_TYPED})

    def clean(self, value: Any) -> str:
        typed = super().clean(value)
        try:
            return str(Tempo.parse(typed)) if typed else ""
        except ValueError as problem:
            raise forms.ValidationError(str(problem)) from problem
