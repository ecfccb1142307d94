"""Whether a retired exercise stays with who has it."""

from typing import Any

from django import forms

from library.shared.forms import form_helper
from library.shared.reasons import NO_REASON, ReasonField


class RetireForm(forms.Form):
    take_back = forms.ChoiceField(
        label="And with those who have it in a session they have not started?",
        widget=forms.RadioSelect,
        choices=[
            ("no", "It stays there: nothing is wrong with it"),
            ("yes", "Take it back for everybody: they get something else in its place"),
        ],
        error_messages={"required": "Choose whether it stays with those who have it."},
    )
    reason = ReasonField(
        label="Why it is taken back",
        required=False,
        help_text="Families read it. Such as: two children twisted an ankle. Name nobody.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = form_helper(*self.fields)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        is_missing = "reason" not in self.errors and not data.get("reason")
        if data.get("take_back") == "yes" and is_missing:
            self.add_error("reason", NO_REASON)
        return data

    @property
    def why_taken_back(self) -> str:
        """Empty where it stays with who has it."""
        return self.cleaned_data["reason"] if self.cleaned_data["take_back"] == "yes" else ""
