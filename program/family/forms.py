from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from athletes.forms.fields import EmailAddressField
from athletes.forms.membership import invited_or_refused
from athletes.models import Child, Invitation, Role, User
from library.shared.forms import form_helper


class InviteGuardianForm(forms.Form):
    """An invitation for one more parent or guardian of a child."""

    email = EmailAddressField(
        label="Their email address",
        help_text="They get a link that works once, within seven days.",
    )

    def __init__(self, taken: set[str], data: Any = None) -> None:
        super().__init__(data)
        self.taken = taken
        self.helper = form_helper("email")

    def clean_email(self) -> str:
        email = str(self.cleaned_data["email"])
        if email in self.taken:
            raise ValidationError("This person already sees your child here.")
        return email

    def invite(self, by: User, child: Child) -> tuple[Invitation, str] | None:
        """None, with the error at the field, where that would be too many."""
        return invited_or_refused(self, self.cleaned_data["email"], Role.GUARDIAN, by, child)
