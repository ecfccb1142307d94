"""A slider as a field of a form."""

from dataclasses import dataclass
from typing import Any

from django import forms

from library.figures.editing.sliders import Slider


@dataclass(frozen=True)
class SliderRow:
    """A slider with the field that it fills; `shown` is its value in words."""

    slider: Slider
    field: forms.BoundField

    @property
    def value(self) -> Any:
        sent = self.field.value()
        return self.field.initial if sent in (None, "") else sent

    @property
    def shown(self) -> str:
        return f"{self.value}{self.slider.unit}"


def number_field(slider: Slider) -> forms.FloatField:
    allowed = f"{slider.label}: from {slider.low:g} to {slider.high:g}{slider.unit}."
    # Django puts the limit into the words of two of them, so a percent sign is doubled there.
    beyond = dict.fromkeys(("min_value", "max_value"), allowed.replace("%", "%%"))
    return forms.FloatField(
        label=slider.label,
        min_value=slider.low,
        max_value=slider.high,
        required=False,
        initial=slider.shown if slider.step < 1 else round(slider.shown),
        error_messages={"invalid": allowed, **beyond},
    )


def is_moved(slider: Slider, number: float | None) -> bool:
    """Whether a slider is not where it was; it was rounded to its step when it was shown."""
    return number is not None and abs(number - slider.value) > slider.step / 2
