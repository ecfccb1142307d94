"""A measurement, as a coach or a parent writes it down."""

import datetime as dt
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.forms.fields import PlainDateField
from athletes.growth import Impossible, Measurement, check_follows
from athletes.measurements import Growth
from athletes.models import GrowthMeasurement, User
from library.shared.forms import form_helper


def _plainly(words: str) -> dict[str, str]:
    """The words for every number that is not one of up to three digits and a decimal."""
    wrong = ("invalid", "max_digits", "max_whole_digits", "max_decimal_places")
    return dict.fromkeys(wrong, words)


IN_CENTIMETRES = _plainly("Write centimetres with one decimal at most, such as 140.5.")
IN_KILOGRAMS = _plainly("Write kilograms with one decimal at most, such as 35.5.")


class MeasurementForm(forms.Form):
    """`with_mass` for coaches alone, and then optional."""

    on = PlainDateField(label="Measured on")
    height = forms.DecimalField(
        label="Standing height in cm",
        max_digits=4,
        decimal_places=1,
        help_text="Barefoot, back to the wall, to the nearest millimetre or half centimetre.",
        error_messages={"required": "Write the height in centimetres.", **IN_CENTIMETRES},
    )
    height_again = forms.DecimalField(
        label="Read again, in cm",
        max_digits=4,
        decimal_places=1,
        required=False,
        help_text="Optional. Step off and stand up once more: two readings are surer, and show how "
        "far the tape is off.",
        error_messages=IN_CENTIMETRES,
    )
    sitting = forms.DecimalField(
        label="Sitting height in cm",
        max_digits=4,
        decimal_places=1,
        required=False,
        help_text="Optional. From the seat to the top of the head; it makes the estimate better.",
        error_messages=IN_CENTIMETRES,
    )
    mass = forms.DecimalField(
        label="Mass in kg",
        max_digits=4,
        decimal_places=1,
        required=False,
        help_text="Optional. One published equation takes it; it is not shown again.",
        error_messages=IN_KILOGRAMS,
    )

    def __init__(self, *args: Any, growth: Growth, with_mass: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._growth = growth
        if not with_mass:
            del self.fields["mass"]
        self.fields["on"].initial = timezone.localdate
        self.helper = form_helper()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if {"on", "height"} <= data.keys() and not self.errors:
            self._check(data)
        return data

    def _check(self, data: dict[str, Any]) -> None:
        there = [each.measured for each in self._growth.measurements]
        on: dt.date = data["on"]
        if any(each.on == on for each in there):
            self.add_error("on", ValidationError("This day is measured already.", code="there"))
            return
        try:
            new = Measurement(on, *(_number(data.get(name)) for name in _NUMBERS))
            check_follows(new, there, self._growth.child.birth_date, timezone.localdate())
        except Impossible as refused:
            self.add_error(
                _FIELDS.get(refused.what, refused.what),
                ValidationError(str(refused), code="impossible"),
            )

    def save(self, by: User) -> GrowthMeasurement:
        return GrowthMeasurement.objects.create(
            child=self._growth.child, measured_by=by, **self.cleaned_data
        )


_NUMBERS = ("height", "sitting", "mass", "height_again")
_FIELDS = {"again": "height_again"}


def _number(value: Any) -> Any:
    return None if value is None else float(value)
