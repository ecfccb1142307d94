from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from athletes.changes import enrol, tell
from athletes.forms.fields import PlainDateField
from athletes.importing.outcomes import NewChild
from athletes.models import Child, Cohort, User
from athletes.models.children import check_birth_date
from athletes.names import NameRefused, family_initial, given_name
from athletes.signals import Circumstance

ALREADY_HERE = "A child with this name and birth date is already here."

WHO: Final = ("given_name", "family_initial", "birth_date")
"""By which a child is told from another."""


class ChildForm(forms.ModelForm[Child]):
    """What Fledge keeps about a child, and no more than that."""

    birth_date = PlainDateField(label="Birth date", missing="Give the birth date.")

    class Meta:
        model = Child
        fields = ["given_name", "family_initial", "birth_date", "sex"]
        labels = {
            "given_name": "Given name",
            "family_initial": "First letter of the family name",
            "sex": "Sex",
        }
        help_texts = {
            "family_initial": "One letter is enough to tell two children of one name apart.",
            "sex": "Optional. Only for estimating the growth spurt, whose published equations "
            "differ for girls and boys. Nothing else uses it.",
        }
        error_messages = {
            "given_name": {
                "required": "Give the given name.",
                "max_length": "A given name has at most 40 letters.",
            },
            "family_initial": {
                "required": "Give the first letter of the family name.",
                "max_length": "Only the first letter of the family name, please.",
            },
        }

    def __init__(self, *args: Any, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by = by
        sex: Any = self.fields["sex"]
        sex.choices = [("", "not said"), *Child.Sex.choices]
        if self.instance.pk and not by.may_add_children:
            self._leave_to_head_coach()

    def _leave_to_head_coach(self) -> None:
        for name in WHO:
            self.fields[name].disabled = True
        self.fields["given_name"].help_text = "Name and birth date are changed by the head coach."

    def clean_given_name(self) -> str:
        return _or_refused(given_name, self.cleaned_data["given_name"])

    def clean_family_initial(self) -> str:
        return _or_refused(family_initial, self.cleaned_data["family_initial"])

    def clean_birth_date(self) -> Any:
        birth_date = self.cleaned_data["birth_date"]
        check_birth_date(birth_date, timezone.localdate())
        return birth_date

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if {"given_name", "family_initial", "birth_date"} <= data.keys():
            same = Child.objects.visible_to(self.by).named(
                data["given_name"], data["family_initial"], data["birth_date"]
            )
            if same.exclude(pk=self.instance.pk).exists():
                self.add_error("given_name", ValidationError(ALREADY_HERE, code="here"))
        return data

    def validate_constraints(self) -> None:
        """Not for a coach, whom it would tell of a child elsewhere; `clean` says what it may."""
        if self.by.may_add_children:
            super().validate_constraints()

    def save_once(self) -> Child | None:
        """The child; None, with the error at the field, if it was added at this very moment."""
        try:
            with transaction.atomic():
                return self._written()
        except IntegrityError:
            self.add_error("given_name", ValidationError(ALREADY_HERE, code="here"))
            return None

    def _written(self) -> Child:
        child = self.save()
        if "birth_date" in self.changed_data:
            tell(child, Circumstance.AGE)
        return child


class NewChildForm(ChildForm):
    cohort: Any = forms.ModelChoiceField(
        label="Cohort",
        empty_label="choose",
        queryset=Cohort.objects.none(),
        error_messages={
            "required": "Choose a cohort: children train in one.",
            "invalid_choice": "This cohort is not one of yours.",
        },
    )

    def __init__(self, *args: Any, cohorts: QuerySet[Cohort], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["cohort"].queryset = cohorts  # type: ignore[attr-defined]

    def described(self) -> NewChild:
        """The child, for a head coach to add."""
        data = self.cleaned_data
        return NewChild(
            data["given_name"],
            data["family_initial"],
            data["birth_date"],
            data["sex"],
            data["cohort"],
            guardians=(),
        )

    def _written(self) -> Child:
        child = self.save()
        enrol(child, self.cleaned_data["cohort"], timezone.localdate())
        return child


def _or_refused(read: Any, text: str) -> str:
    try:
        return str(read(text))
    except NameRefused as refused:
        raise ValidationError(str(refused), code="name") from refused
