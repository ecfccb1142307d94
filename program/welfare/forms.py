"""A concern in the words of whoever has it."""

import datetime as dt
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.forms.fields import EmailAddressField
from athletes.models import Child, Invitation, User
from athletes.models.invitations import TooManyInvitations
from library.shared.forms import form_helper
from program.models import Concern, WelfareOfficer, WelfareWords
from program.models.welfare import LONGEST_TEXT
from program.welfare.naming import invite_officer, who_may_be_named

if TYPE_CHECKING:
    from collections.abc import Sequence

    from library.shared.access import Request


def words_field(label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        help_text=help_text,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 5, "autocomplete": "off"}),
        error_messages={
            "required": "Write it in your own words.",
            "max_length": f"At most {LONGEST_TEXT} letters.",
        },
    )


class ConcernForm(forms.Form):
    about = forms.ChoiceField(label="About", required=False)
    text = words_field("What it is", "As you saw or heard it, in your own words.")
    happened = forms.CharField(
        label="When it happened",
        required=False,
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    kept_from = forms.ChoiceField(
        label="Who reads it",
        required=False,
        help_text="If it is about one of them, leave that one out.",
    )
    nameless = forms.BooleanField(
        label="Leave my name out",
        required=False,
        help_text="Then nobody can answer you or ask you anything, and you cannot see here what "
        "came of it.",
    )

    def __init__(
        self, by: User, officers: "Sequence[WelfareOfficer]", *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self._by = by
        self._children = {
            str(each.public_id): each
            for each in Child.objects.visible_to(by).order_by("given_name")
        }
        named = [(key, str(child)) for key, child in self._children.items()]
        others = [
            (str(each.person_id), f"all but {each.person}")
            for each in officers
            if each.person_id != by.pk
        ]
        about: Any = self.fields["about"]
        about.choices = [("", "nobody in particular"), *named]
        kept_from: Any = self.fields["kept_from"]
        kept_from.choices = [("", "all of them"), *others]
        if not by.is_family:
            del self.fields["nameless"]
        self.helper = form_helper(*self.fields)

    def concern(self, now: dt.datetime) -> Concern:
        """Not saved."""
        data = self.cleaned_data
        child = self._children.get(data["about"])
        by = None if data.get("nameless") else self._by
        return Concern(
            about=f"{child}, born {child.birth_date:%-d %B %Y}" if child else "",
            text=data["text"],
            happened=data["happened"],
            by=by,
            reporter=by.name if by else "",
            kept_from_id=int(data["kept_from"]) if data["kept_from"] else None,
            reported_at=now,
        )


class EntryForm(forms.Form):
    """What is added to a concern: by whoever reported it, or an officer's note."""

    text = words_field("Add to it")

    def __init__(self, *args: Any, is_note: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_note:
            self.fields["text"].label = "A note, for officers alone"
        self.helper = form_helper(*self.fields)


class NameForm(forms.Form):
    person = forms.ModelChoiceField(
        label="Who",
        queryset=User.objects.none(),
        help_text="Any grown-up who signs in here.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = who_may_be_named()  # type: ignore[attr-defined]


class InviteForm(forms.Form):
    """Somebody from outside."""

    email = EmailAddressField(label="Email address")

    def clean_email(self) -> str:
        email = str(self.cleaned_data["email"])
        if User.objects.filter(email__iexact=email).exists():
            raise ValidationError("They sign in here already. Name them, above.")
        waiting = Invitation.objects.open_at(timezone.now())
        if waiting.filter(email=email, as_officer=True).exists():
            raise ValidationError("An invitation to this address is still open.")
        return email

    def invite(self, request: "Request") -> bool:
        """False, with the error at the field, where that would be too many."""
        try:
            invite_officer(self.cleaned_data["email"], request)
        except TooManyInvitations as refused:
            self.add_error("email", refused)
            return False
        return True


class WordsForm(forms.ModelForm[WelfareWords]):
    class Meta:
        model = WelfareWords
        fields = ["whom_to_ring", "emergency_number"]
        widgets = {"whom_to_ring": forms.Textarea(attrs={"rows": 3})}
