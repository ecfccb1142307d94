"""A question about a session, in the words of whoever asks."""

import datetime as dt
from typing import TYPE_CHECKING, Any

from crispy_forms.helper import FormHelper
from django import forms

from program.models import AssignedSession, Question

if TYPE_CHECKING:
    from athletes.models import User


class QuestionForm(forms.Form):
    slot = forms.ChoiceField(
        label="About",
        required=False,
        error_messages={"invalid_choice": "Choose one of this session’s exercises."},
    )
    text = forms.CharField(
        label="Your question",
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={
            "required": "Write what you would like to know.",
            "max_length": "At most 600 characters.",
        },
    )

    def __init__(self, session: AssignedSession, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._session = session
        self._slots = {str(slot.pk): slot for slot in session.slots.all()}
        choices = [(key, str(slot)) for key, slot in self._slots.items()]
        self.fields["slot"].choices = [("", "the whole session"), *choices]  # type: ignore[attr-defined]
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True

    def save(self, by: "User", now: dt.datetime) -> Question:
        return Question.objects.create(
            child=self._session.child,
            assigned_session=self._session,
            assigned_slot=self._slots.get(self.cleaned_data["slot"]),
            text=self.cleaned_data["text"],
            asked_by=by,
            asked_at=now,
        )
