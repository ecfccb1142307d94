"""Why an exercise is taken back for everybody."""

from typing import Any

from django import forms

from library.shared.forms import form_helper
from library.shared.reasons import ReasonField


class RecallForm(forms.Form):
    reason = ReasonField(
        label="Why it is taken back",
        help_text="Families read it. Such as: two children twisted an ankle. Name nobody.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = form_helper("reason")
