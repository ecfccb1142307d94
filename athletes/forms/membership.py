"""Where a child belongs: cohorts, and the people of the family."""

import datetime as dt
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils import timezone

from athletes.changes import enrol, withdraw
from athletes.forms.fields import EmailAddressField, PlainDateField
from athletes.models import AccessRules, Child, Cohort, Enrolment, Invitation, Role, User
from athletes.models.access_rules import GROWN_UP
from athletes.models.invitations import TooManyInvitations
from library.shared.dates import date_in_words

AHEAD = dt.timedelta(days=366)


class EnrolForm(forms.Form):
    cohort: Any = forms.ModelChoiceField(
        label="Cohort",
        empty_label="choose",
        queryset=Cohort.objects.none(),
        error_messages={
            "required": "Choose a cohort.",
            "invalid_choice": "This cohort is not one of yours.",
        },
    )
    start = PlainDateField(label="From")

    def __init__(self, *args: Any, child: Child, cohorts: QuerySet[Cohort], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.child = child
        self.fields["cohort"].queryset = cohorts  # type: ignore[attr-defined]
        self.fields["start"].initial = timezone.localdate

    def clean_start(self) -> dt.date:
        start: dt.date = self.cleaned_data["start"]
        if abs(start - timezone.localdate()) > AHEAD:
            raise ValidationError("Choose a day within a year of today.", code="far")
        return start

    def enrol(self) -> Enrolment | None:
        """None, with the error at the field, if the child is in the cohort on those days."""
        cohort, start = self.cleaned_data["cohort"], self.cleaned_data["start"]
        try:
            return enrol(self.child, cohort, start)
        except ValidationError as error:
            self.add_error("cohort", ValidationError(error.messages))
            return None


class LastDayForm(forms.Form):
    """The last day in a cohort, or in all of them."""

    last_day = PlainDateField(label="Last day")

    def __init__(self, *args: Any, enrolments: list[Enrolment], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.enrolments = enrolments
        self.fields["last_day"].initial = timezone.localdate

    def clean_last_day(self) -> dt.date:
        last_day: dt.date = self.cleaned_data["last_day"]
        for enrolment in self.enrolments:
            if enrolment.start > last_day and enrolment.start <= timezone.localdate():
                raise ValidationError(
                    f"In {enrolment.cohort} only since {date_in_words(enrolment.start)}.",
                    code="before",
                )
        if last_day > timezone.localdate() + AHEAD:
            raise ValidationError("Choose a day within the coming year.", code="far")
        return last_day

    def withdraw(self, child: Child) -> list[Cohort]:
        cohorts = [enrolment.cohort for enrolment in self.enrolments]
        return withdraw(child, cohorts, self.cleaned_data["last_day"])


def invited_or_refused(
    form: forms.Form,
    email: str,
    role: str,
    by: User,
    child: Child | None = None,
    cohort: Cohort | None = None,
) -> tuple[Invitation, str] | None:
    try:
        return Invitation.objects.invite(email, role, by, child, cohort)
    except TooManyInvitations as refused:
        form.add_error("email", refused)
        return None


class InviteFamilyForm(forms.Form):
    """A parent or guardian of one child, or the child's own sign-in."""

    email = EmailAddressField(label="Email address")
    role = forms.ChoiceField(
        label="For",
        choices=[
            (Role.GUARDIAN, "a parent or guardian"),
            (Role.ATHLETE, "the young athlete, if a parent or guardian agrees"),
        ],
        initial=Role.GUARDIAN,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, child: Child, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.child = child
        self.by = by

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if {"email", "role"} <= data.keys():
            refusal = self._refusal(data["email"], data["role"])
            if refusal:
                self.add_error("email", ValidationError(refusal, code="known"))
        return data

    def _refusal(self, email: str, role: str) -> str:
        open_ones = Invitation.objects.open_at(timezone.now())
        if open_ones.filter(child=self.child, email=email, role=role).exists():
            return "An invitation to this address is still open."
        if role == Role.ATHLETE:
            return self._refusal_of_own_sign_in(email)
        if self.child.guardians.filter(email__iexact=email).exists():
            return f"This is already a guardian of {self.child.given_name}."
        if self._known(email).filter(role=Role.ATHLETE).exists():
            return "This is a young athlete’s own address. Ask for the parent’s."
        return ""

    def _refusal_of_own_sign_in(self, email: str) -> str:
        if self.child.user is not None:
            return f"{self.child.given_name} has an own sign-in already."
        if self._known(email).exists():
            return "Somebody already signs in with this email address."
        youngest = AccessRules.objects.current().own_sign_in_from
        if self.child.age_on(timezone.localdate()) < youngest:
            return f"An own sign-in is possible from the age of {youngest}."
        is_grown_up = self.child.age_on(timezone.localdate()) >= GROWN_UP
        if is_grown_up and self.by.is_head_coach:
            return ""
        if not self.child.guardians.filter(is_active=True).exists():
            return "Invite a parent or guardian first: one of them has to agree."
        return ""

    def _known(self, email: str) -> QuerySet[User]:
        """Who signs in with this address, as far as whoever invites may know: nobody is to try out
        who is here. What is not said now is said to whoever opens the invitation."""
        people = (
            User.objects.all()
            if self.by.is_head_coach
            else Child.objects.visible_to(self.by).family()
        )
        return people.filter(email__iexact=email)

    def invite(self) -> tuple[Invitation, str] | None:
        """The invitation and its token, which is mailed once; None, with the error at the field,
        where that would be too many."""
        data = self.cleaned_data
        return invited_or_refused(self, data["email"], data["role"], self.by, self.child)


class OwnSignInForm(InviteFamilyForm):
    """A guardian begins the child's own sign-in."""

    role = None  # type: ignore[assignment]  # so that Django leaves the field out

    def clean(self) -> dict[str, Any]:
        self.cleaned_data["role"] = Role.ATHLETE
        return super().clean()


class GrowingForm(forms.Form):
    """Until when to go gently because a child grows fast."""

    until = PlainDateField(label="Growing fast until")

    def clean_until(self) -> dt.date:
        until: dt.date = self.cleaned_data["until"]
        today = timezone.localdate()
        if until < today:
            raise ValidationError("This day is over. Choose today or later.", code="past")
        if until > today + AHEAD:
            raise ValidationError(
                "At most a year ahead: measure and look again before then.", code="far"
            )
        return until
