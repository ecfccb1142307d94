from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from athletes import role_changes
from athletes.changes import equip_venue
from athletes.forms.fields import EmailAddressField
from athletes.forms.membership import invited_or_refused
from athletes.loaders import children_of
from athletes.models import AccessRules, Cohort, Invitation, Role, RoleChange, User
from athletes.models.role_changes import GROWN_UPS


class CohortForm(forms.ModelForm[Cohort]):
    class Meta:
        model = Cohort
        fields = ["name", "youngest", "oldest", "coaches", "venue_items"]
        labels = {
            "name": "Name",
            "youngest": "Youngest age",
            "oldest": "Oldest age",
            "coaches": "Coaches",
            "venue_items": "What is at hand at the venue",
        }
        widgets = {
            "coaches": forms.CheckboxSelectMultiple,
            "venue_items": forms.CheckboxSelectMultiple,
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["coaches"].queryset = User.objects.filter(  # type: ignore[attr-defined]
            role__in=[Role.COACH, Role.HEAD_COACH], is_active=True
        )

    @transaction.atomic
    def save(self, commit: bool = True) -> Cohort:
        """What is at the venue is said apart, because sessions hang on it."""
        items = self.cleaned_data.pop("venue_items")
        cohort = super().save()
        equip_venue(cohort, items)
        return cohort


class AccessRulesForm(forms.ModelForm[AccessRules]):
    class Meta:
        model = AccessRules
        fields = [
            "club_name",
            "history_days",
            "kept_years",
            "records_years",
            "coach_idle_hours",
            "own_sign_in_from",
        ]


class InviteCoachForm(forms.Form):
    """An invitation to coach, to one cohort at first if wished; a parent coaches besides."""

    email = EmailAddressField(label="Email address")
    role = forms.ChoiceField(
        label="As",
        choices=[(Role.COACH, "coach of own cohorts"), (Role.HEAD_COACH, "head coach, sees all")],
        initial=Role.COACH,
    )
    cohort = forms.ModelChoiceField(
        label="First cohort", queryset=Cohort.objects.all(), required=False
    )

    def clean_email(self) -> str:
        email = str(self.cleaned_data["email"])
        others = User.objects.exclude(role=Role.GUARDIAN, is_active=True)
        if others.filter(email__iexact=email).exists():
            raise ValidationError("Somebody already signs in with this email address.")
        if Invitation.objects.open_at(timezone.now()).filter(email=email, child=None).exists():
            raise ValidationError("An invitation to this address is still open.")
        return email

    def invite(self, by: User) -> tuple[Invitation, str] | None:
        """The invitation and its token, which is mailed once; None, with the error at the field,
        where that would be too many."""
        data = self.cleaned_data
        return invited_or_refused(self, data["email"], data["role"], by, cohort=data["cohort"])


class ChangeRoleForm(forms.Form):
    """Who is to coach, to lead, or to do so no more."""

    person = forms.ModelChoiceField(label="Who", empty_label="choose", queryset=User.objects.none())
    role = forms.ChoiceField(
        label="As",
        choices=[
            (Role.COACH, "coach of own cohorts"),
            (Role.HEAD_COACH, "head coach, sees all"),
            (Role.GUARDIAN, "no coach: sees own children, if there are any"),
        ],
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = User.objects.filter(role__in=GROWN_UPS, is_active=True)
        self.fields["person"].queryset = people  # type: ignore[attr-defined]

    def ask(self, by: User, origin: str) -> RoleChange | None:
        """None, with the error at the field, where the role stays."""
        person, role = self.cleaned_data["person"], self.cleaned_data["role"]
        try:
            return role_changes.ask(person, role, by, timezone.now(), origin)
        except role_changes.RoleStays as reason:
            self.add_error("person", str(reason))
            return None


class AcceptForm(forms.Form):
    """How somebody invited wishes to be called."""

    name = forms.CharField(
        label="Your name", max_length=80, help_text="As families and coaches should see it."
    )


class MailForm(forms.ModelForm[User]):
    """What somebody is mailed. Of new sessions only a child's family hears."""

    class Meta:
        model = User
        fields = ["wants_mail", "session_mail"]
        labels = {
            "wants_mail": "Mail me when there is a question, an answer or a report for me",
            "session_mail": "And of new sessions of my children, and what the coach writes to them",
        }
        widgets = {"session_mail": forms.RadioSelect}
        help_texts = {
            "wants_mail": "Such a mail holds a link and a given name, nothing of what was written. "
            "Codes to sign in and invitations always come.",
            "session_mail": "At once is ten minutes after the coach sends them, so that a week "
            "comes as one mail. The evening is at six, and at nine for what is sent later.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["session_mail"].required = False  # left out, it stays as it is
        if not self.instance.is_family and not children_of(self.instance):
            del self.fields["session_mail"]
