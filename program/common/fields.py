"""Form fields that refuse in one plain sentence."""

import datetime as dt
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

FIRST_DAY, LAST_DAY = dt.date(2000, 1, 3), dt.date(2099, 12, 31)


class DayField(forms.DateField):
    """A calendar day of this century, chosen with the browser's own calendar."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    default_error_messages = {
        "required": "Choose a day.",
        "invalid": "This is not a day. Write it as year-month-day, such as 2026-11-02.",
    }

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        if day and not FIRST_DAY <= day <= LAST_DAY:
            raise ValidationError("Choose a day between 2000 and 2099.")
        return day


class WholeNumberField(forms.IntegerField):
    """A whole number within limits, refused in one sentence. Typed as text: no spin buttons."""

    widget = forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 6, "autocomplete": "off"})

    def __init__(self, low: int, high: int, refusal: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.low, self.high, self.refusal = low, high, refusal

    def to_python(self, value: Any) -> int | None:
        try:
            return super().to_python(value)
        except ValidationError:
            raise ValidationError(f"“{value}” is not a whole number. {self.refusal}") from None

    def clean(self, value: Any) -> int | None:
        number: int | None = super().clean(value)
        if number is not None and not self.low <= number <= self.high:
            raise ValidationError(self.refusal)
        return number
