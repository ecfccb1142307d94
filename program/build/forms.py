"""The forms of planning. Every refusal is one plain sentence at its field."""

import datetime as dt
from typing import Any

from crispy_forms.bootstrap import InlineRadios
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Field
from django import forms
from django.core.exceptions import ValidationError

from library.forms.tempo import TempoField
from library.models import ExerciseRevision
from library.shared.dates import weekday_and_date
from library.shared.forms import form_helper
from program.common.edit_conflicts import ConflictAwareForm
from program.common.fields import DayField, WholeNumberField
from program.engine.dose.dose import MOST_ROUNDS, Measure, Sides, validate_amount
from program.models import Block, Part, Session, Slot

IN_PLACE = "program/build/fields/value.html"


class SessionForm(ConflictAwareForm):
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
        self.helper = form_helper("name", row, InlineRadios("place"), "note", submit=submit)

    def clean_date(self) -> dt.date:
        day: dt.date = self.cleaned_data["date"]
        if not self.block.holds(day):
            raise ValidationError(
                f"{weekday_and_date(day)} lies outside the block, which runs from "
                f"{weekday_and_date(self.block.starts_on)} to "
                f"{weekday_and_date(self.block.ends_on)}."
            )
        return day


def _in_place(*fields: str) -> FormHelper:
    return form_helper(*(Field(name, template=IN_PLACE) for name in fields))


class InPlaceForm(ConflictAwareForm):
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
        self.beside("rounds", before="rounds", css="value-short")
        self.beside("rest_seconds", before="rest between rounds", after="s", css="value-short")


_SIDES = {Sides.BOTH: "", Sides.EACH: "each side", Sides.ALTERNATING: "swapping sides"}


class SlotForm(InPlaceForm):
    # What one dose may ask for depends on the measure; these limits only end the counting.
    amount = WholeNumberField(-(10**6), 10**6, "Write a whole number from 1 up.", label="Amount")
    tempo = TempoField(label="Tempo", required=False)
    rest_seconds = WholeNumberField(0, 600, REST, label="Rest after it in seconds", required=False)
    max_steps_up = WholeNumberField(0, 5, "At most 5 steps up.", label="Most steps up")

    class Meta:
        model = Slot
        fields = ["amount", "tempo", "rest_seconds", "rule", "max_steps_up", "note"]
        labels = {"rule": "How it may change to fit a child", "note": "A word to the family"}
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
        after = " ".join(filter(None, (self.measure.symbol, _SIDES[sides])))
        self.beside("amount", after=after, css="value-short")
        self.beside("tempo", before="tempo", css="value-tempo")
        self.beside("rest_seconds", before="rest after it", after="s", css="value-short")
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
