from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from athletes.forms.fields import EmailAddressField
from athletes.forms.membership import invited_or_refused
from athletes.models import Child, Invitation, Role, User
from athletes.models.sport import MOST_HOURS
from athletes.sport_elsewhere import UsualSport
from library.shared.forms import form_helper
from program.common.lanes import DAYS
from program.common.sport import KINDS, ChildSport


class _WeekdaysField(forms.TypedMultipleChoiceField):
    """Some weekdays, 1 for Monday."""

    def __init__(self, *, label: str) -> None:
        super().__init__(
            label=label,
            choices=[(number, name[:3]) for number, name in enumerate(DAYS, start=1)],
            coerce=int,
            required=False,
            widget=forms.CheckboxSelectMultiple({"class": "form-check-input"}),
            error_messages={"invalid_choice": "Choose among the days of the week."},
        )


class SportForm(forms.Form):
    """A usual week of sport outside the program. `none` says that there is none, whatever else was
    filled in."""

    prefix = "sport"  # a field called matches would take the place of the form's own method

    hours = forms.DecimalField(
        label="Hours a week, all of it together",
        max_digits=3,
        decimal_places=1,
        min_value=0,
        max_value=MOST_HOURS,
        help_text="About. 7.5 is seven and a half.",
        error_messages={
            "required": "Write about how many hours a week.",
            "invalid": "Write a number, such as 4 or 7.5.",
            "max_value": f"At most {MOST_HOURS} hours.",
            "min_value": "0 hours or more.",
            "max_decimal_places": "Half hours are enough: 7.5.",
            "max_digits": "Write a number, such as 4 or 7.5.",
        },
    )
    school = _WeekdaysField(label="School: teams and clubs")
    club = _WeekdaysField(label="Club training")
    matches = _WeekdaysField(label="Matches and competitions")

    def __init__(self, data: Any = None, *, found: ChildSport) -> None:
        usual = found.usual
        initial = {kind: [*on] for kind, on in found.days.items()}
        if usual:
            initial["hours"] = f"{usual.hours:g}"  # type: ignore[assignment]
        super().__init__(data, initial=initial)
        self.fields["hours"].widget.attrs |= {"inputmode": "decimal", "step": "0.5"}

    @property
    def weekdays(self) -> list[Any]:
        """The fields of the days by kind, as the page draws them."""
        return [self[kind] for kind in KINDS]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "hours" in data and not self.errors:
            days = [day for kind in KINDS for day in data[kind]]
            if data["hours"] and not days:
                self.add_error("school", "Tick the days, of whatever kind.")
            if days and not data["hours"]:
                self.add_error("hours", "About how many hours are that, all together?")
        return data

    @property
    def usual(self) -> UsualSport:
        data = self.cleaned_data
        return UsualSport(data["hours"], **{kind: set(data[kind]) for kind in KINDS})


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
