"""The form of a block: when it runs, for whom, and its pauses."""

import datetime as dt
from typing import TYPE_CHECKING, Any

from crispy_forms.layout import HTML, Div, Fieldset
from django import forms
from django.db.models import Max, Min

from athletes.models import Cohort, CohortQuerySet
from library.shared.dates import weekday_and_date
from library.shared.forms import form_helper
from program.common.edit_conflicts import ConflictAwareForm
from program.common.fields import DayField, WholeNumberField
from program.engine.weeks import A_WEEK, MOST_WEEKS
from program.models import Block
from program.models.pauses import LONGEST_PAUSE, PAUSES

if TYPE_CHECKING:
    from athletes.models import User


class PauseField(WholeNumberField):
    """Seconds between work, as the model says them."""

    widget = forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 3, "autocomplete": "off"})

    def __init__(self, *, min_value: int, **kwargs: Any) -> None:
        refusal = f"A pause lasts between {min_value} and {LONGEST_PAUSE} seconds."
        super().__init__(min_value, LONGEST_PAUSE, refusal, **kwargs)
        self.error_messages["required"] = refusal


class BlockForm(ConflictAwareForm):
    starts_on = DayField(label="First day")
    ends_on = DayField(label="Last day")

    class Meta:
        model = Block
        fields = ["cohort", "name", "aim", "starts_on", "ends_on", *PAUSES]
        field_classes = dict.fromkeys(PAUSES, PauseField)
        help_texts = {"aim": "What it is for, in one sentence. May stay empty."}

    def __init__(self, user: "User", *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        first = []
        if self.instance.pk:
            # Its sessions and all that hangs on them belong to the cohort's children.
            del self.fields["cohort"]
        else:
            first = ["cohort"]
            cohort = self.fields["cohort"]
            own = Cohort.objects.visible_to(user)
            cohort.queryset = own  # type: ignore[attr-defined]
            cohort.initial = _only_one(own)
            cohort.error_messages["invalid_choice"] = "Choose one of your cohorts."
        submit = "Save the block" if self.instance.pk else "Make the block"
        dates = Div("starts_on", "ends_on", css_class="row")
        self.helper = form_helper(*first, "name", "aim", dates, _pauses(), submit=submit)

    def clean(self) -> dict[str, Any]:
        starts, ends = self.cleaned_data.get("starts_on"), self.cleaned_data.get("ends_on")
        if starts and ends:
            self._check_days(starts, ends)
        return super().clean()

    def _check_days(self, starts: dt.date, ends: dt.date) -> None:
        if ends <= starts:
            self.add_error("ends_on", "A block cannot end before it starts.")
        elif ends > starts + MOST_WEEKS * A_WEEK:
            self.add_error("ends_on", f"A block lasts at most {MOST_WEEKS} weeks.")
        elif self.instance.pk:
            self._check_sessions(starts, ends)

    def _check_sessions(self, starts: dt.date, ends: dt.date) -> None:
        held = self.instance.sessions.aggregate(first=Min("date"), last=Max("date"))
        if held["first"] and held["first"] < starts:
            first = weekday_and_date(held["first"])
            self.add_error("starts_on", f"There is a session on {first}. Move it first.")
        if held["last"] and held["last"] > ends:
            last = weekday_and_date(held["last"])
            self.add_error("ends_on", f"There is a session on {last}. Move it first.")


def _only_one(cohorts: CohortQuerySet) -> int | None:
    """The key of the only one there is, which need not be chosen."""
    keys = list(cohorts.values_list("pk", flat=True)[:2])
    return keys[0] if len(keys) == 1 else None


def _pauses() -> Fieldset:
    about = (
        '<p class="soft">In seconds, for the whole block. There are three rests: the breather '
        "between two exercises, unless an exercise has its own; the drink between two parts; and "
        "between two rounds the rest that you write in the part itself. Every clock counts with "
        "them: yours, the printed sheet’s and the one at home. What is published already stays as "
        "it is until it is published again.</p>"
    )
    return Fieldset("Between work", HTML(about), Div(*PAUSES, css_class="pauses"))
