"""Form fields that refuse in one plain sentence."""

from typing import Any, Final

from django import forms

from athletes.importing.cells import LONGEST_EMAIL

# ISO first, as browsers send a date field; typed dates have the day first.
DATE_FORMATS: Final = ["%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y"]


class EmailAddressField(forms.EmailField):
    """An address as it is kept: in small letters, and no longer than any address is."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            max_length=LONGEST_EMAIL,
            error_messages={
                "required": "Give an email address.",
                "invalid": "This is not an email address, such as name@example.org.",
                "max_length": f"An email address has at most {LONGEST_EMAIL} characters.",
            },
            **kwargs,
        )

    def clean(self, value: Any) -> str:
        return str(super().clean(value)).lower()


class PlainDateField(forms.DateField):
    """A day, by the browser's own date field or typed."""

    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})

    def __init__(self, *, missing: str = "Choose a day.", **kwargs: Any) -> None:
        super().__init__(
            input_formats=DATE_FORMATS,
            error_messages={
                "required": missing,
                "invalid": "Give the day as day, month and year, for example 15/06/2015.",
            },
            **kwargs,
        )
