"""The forms of planning. Every refusal is one plain sentence at its field."""

import datetime as dt
from typing import TYPE_CHECKING, Any

from crispy_forms.bootstrap import InlineRadios
from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Div, Field, Fieldset, Layout, Submit
from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Max, Min

from athletes.models import Cohort
from library.forms.tempo import TempoField
from library.models import ExerciseRevision
from program.common.edit_conflicts import SeenForm
from program.engine.dose.dose import MOST_ROUNDS, Measure, Sides, validate_amount
from program.engine.weeks import A_WEEK, MOST_WEEKS
from program.models import Block, Part, Session, Slot
from program.models.pauses import LONGEST_PAUSE, PAUSES

if TYPE_CHECKING:
    from athletes.models import User

FIRST_DAY, LAST_DAY = dt.date(2000, 1, 3), dt.date(2099, 12, 31)
IN_PLACE = "program/build/fields/value.html"


def day_in_words(day: dt.date) -> str:
    return f"{day:%A} {day.day} {day:%B %Y}"


class DayField(forms.DateField):
    """A calendar day of this century, chosen with the browser's own calendar."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    default_error_messages = {
        "required": "Choose a day.",
        "invalid": "This is not a day. Write it as year-month-day, such as 2026-11-02.",
    }

    def clean(self, value: Any) -> Any:
        day = super().clean(value)
        if day and not FIRST_DAY <= day <= LAST_DAY:
            raise ValidationError("Choose a day between 2000 and 2099.")
        return day


class WholeNumberField(forms.IntegerField):
    """A whole number within limits, refused in one sentence. Typed as text: no spin buttons."""

    widget = forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 6, "autocomplete": "off"})

    def __init__(self, low: int, high: int, refusal: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.low, self.high, self.refusal = low, high, refusal

    def to_python(self, value: Any) -> int | None:
        try:
            return super().to_python(value)
        except ValidationError:
            raise ValidationError(f"“{value}” is not a whole number. {self.refusal}") from None

    def clean(self, value: Any) -> int | None:
        number: int | None = super().clean(value)
        if number is not None and not self.low <= number <= self.high:
            raise ValidationError(self.refusal)
        return number


def _page_helper(*rows: Any, submit: str) -> FormHelper:
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    helper.layout = Layout(*rows, Div(Submit("", submit), css_class="form-actions"))
    return helper


class PauseField(WholeNumberField):
    """Seconds between work, as the model says them."""

    widget = forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 3, "autocomplete": "off"})

    def __init__(self, *, min_value: int, **kwargs: Any) -> None:
        refusal = f"A pause lasts between {min_value} and {LONGEST_PAUSE} seconds."
        super().__init__(min_value, LONGEST_PAUSE, refusal, **kwargs)
        self.error_messages["required"] = refusal


class BlockForm(SeenForm):
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
            cohort.queryset = Cohort.objects.visible_to(user)  # type: ignore[attr-defined]
            cohort.error_messages["invalid_choice"] = "Choose one of your cohorts."
        submit = "Save the block" if self.instance.pk else "Make the block"
        dates = Div("starts_on", "ends_on", css_class="row")
        self.helper = _page_helper(*first, "name", "aim", dates, _pauses(), submit=submit)

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
            first = day_in_words(held["first"])
            self.add_error("starts_on", f"There is a session on {first}. Move it first.")
        if held["last"] and held["last"] > ends:
            last = day_in_words(held["last"])
            self.add_error("ends_on", f"There is a session on {last}. Move it first.")


def _pauses() -> Fieldset:
    about = (
        '<p class="soft">In seconds. Every clock counts with them: yours, the printed sheet’s and '
        "the one at home. What is published already stays as it is until it is published again."
        "</p>"
    )
    return Fieldset("Between work", HTML(about), Div(*PAUSES, css_class="pauses"))


class SessionForm(SeenForm):
    date = DayField(label="Day")
    target_minutes = WholeNumberField(
        5, 120, "A session takes between 5 and 120 minutes.", label="Minutes wanted", initial=25
    )

    class Meta:
        model = Session
        fields = ["name", "date", "place", "target_minutes", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3}), "place": forms.RadioSelect}
        labels = {"place": "Where", "note": "A word to the family"}
        help_texts = {"note": "Stands over the session on their phone. May stay empty."}

    def __init__(self, block: Block, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.block = block
        self.fields["date"].widget.attrs |= {
            "min": block.starts_on.isoformat(),
            "max": block.ends_on.isoformat(),
        }
        submit = "Save" if self.instance.pk else "Make the session"
        row = Div("date", "target_minutes", css_class="row")
        self.helper = _page_helper("name", row, InlineRadios("place"), "note", submit=submit)

    def clean_date(self) -> dt.date:
        day: dt.date = self.cleaned_data["date"]
        if not self.block.holds(day):
            raise ValidationError(
                f"{day_in_words(day)} lies outside the block, which runs from "
                f"{day_in_words(self.block.starts_on)} to {day_in_words(self.block.ends_on)}."
            )
        return day


def _in_place(*fields: str) -> FormHelper:
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    helper.layout = Layout(*(Field(name, template=IN_PLACE) for name in fields))
    return helper


class InPlaceForm(SeenForm):
    """A form that is a line of the page: values among words, each saved as it is left."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            said = f"{self.auto_id % name}-said"  # type: ignore[operator]
            field.widget.attrs |= {"class": "dose-value", "aria-describedby": said}

    def beside(self, name: str, before: str = "", after: str = "", css: str = "") -> None:
        """Words around a field, and its class."""
        field: Any = self.fields[name]
        field.before, field.after, field.css = before, after, css


REST = "A rest is between 0 and 600 seconds."


class PartForm(InPlaceForm):
    rounds = WholeNumberField(
        1, MOST_ROUNDS, f"A part has between 1 and {MOST_ROUNDS} rounds.", label="Rounds"
    )
    rest_seconds = WholeNumberField(0, 600, REST, label="Rest between rounds in seconds")

    class Meta:
        model = Part
        fields = ["name", "kind", "rounds", "rest_seconds"]
        labels = {"name": "Name of the part", "kind": "How its exercises follow each other"}
        error_messages = {"name": {"required": "Give the part a name."}}

    line = _in_place("name", "kind", "rounds", "rest_seconds")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", f"part-{kwargs['instance'].pk}-%s")
        super().__init__(*args, **kwargs)
        self.beside("name", css="value-name")
        self.beside("rounds", after="rounds", css="value-short")
        self.beside("rest_seconds", before="rest", after="s", css="value-short")


_UNITS = {Measure.REPETITIONS: "", Measure.SECONDS: "s", Measure.METRES: "m"}
_SIDES = {Sides.BOTH: "", Sides.EACH: "each side", Sides.ALTERNATING: "swapping sides"}


class SlotForm(InPlaceForm):
    # What one dose may ask for depends on the measure; these limits only end the counting.
    amount = WholeNumberField(-(10**6), 10**6, "Write a whole number from 1 up.", label="Amount")
    tempo = TempoField(label="Tempo", required=False)
    rest_seconds = WholeNumberField(
        0, 600, REST, label="Breather after it in seconds", required=False
    )
    max_steps_up = WholeNumberField(0, 5, "At most 5 steps up.", label="Most steps up")

    class Meta:
        model = Slot
        fields = ["amount", "tempo", "rest_seconds", "rule", "max_steps_up", "note"]
        labels = {"rule": "How it may move to fit a child", "note": "A word to the family"}
        widgets = {"note": forms.TextInput}

    line = _in_place("amount", "tempo")
    beyond = _in_place("rest_seconds", "rule", "max_steps_up", "note")

    def __init__(self, *args: Any, revision: ExerciseRevision | None, **kwargs: Any) -> None:
        kwargs.setdefault("auto_id", f"slot-{kwargs['instance'].pk}-%s")
        super().__init__(*args, **kwargs)
        self.measure = Measure(revision.measure) if revision else Measure.REPETITIONS
        self._shape(Sides(revision.sides) if revision else Sides.BOTH)

    def _shape(self, sides: Sides) -> None:
        fields = self.fields
        fields["amount"].error_messages["required"] = "Say how much: a whole number from 1 up."
        after = " ".join(filter(None, (_UNITS[self.measure], _SIDES[sides])))
        self.beside("amount", after=after, css="value-short")
        self.beside("tempo", before="tempo", css="value-tempo")
        self.beside("rest_seconds", before="rest", after="s", css="value-short")
        self.beside("max_steps_up", before="up to", after="steps up", css="value-short value-steps")
        self.beside("note", before="note", css="value-note")
        for name in ("tempo", "rest_seconds"):
            fields[name].widget.attrs["placeholder"] = "usual"
        fields["note"].widget.attrs["placeholder"] = "a word to the family"
        if self.measure is not Measure.REPETITIONS and not self.initial.get("tempo"):
            del fields["tempo"]
            self.line = _in_place("amount")

    def clean_amount(self) -> int:
        amount: int = self.cleaned_data["amount"]
        try:
            validate_amount(self.measure, amount)
        except ValueError as why:
            raise ValidationError(str(why)) from None
        return amount

    def clean_tempo(self) -> str:
        tempo: str = self.cleaned_data["tempo"]
        if tempo and self.measure is not Measure.REPETITIONS:
            raise ValidationError(
                f"A tempo times repetitions; a dose in {self.measure} has none. Leave it empty."
            )
        return tempo
