"""The form a session is logged with: the same for a family and for a coach.

Only the state is asked for; all else may be left out. What a field refuses, it refuses in one
sentence, and keeps what was typed.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field
from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from library.shared.dates import date_in_words
from library.shared.forms import form_helper
from program.common.fields import DayField, WholeNumberField
from program.common.session_plan import dose_of
from program.common.wording import EFFORT, ENJOYMENT, minutes
from program.engine.dose.dose import LIMITS, Measure, in_words
from program.log.day_done import When, day_in, earliest, likely_day, said_day, when
from program.log.logbook import CALLED_OFF, LogEntry, SlotEntry, state_from_amounts
from program.log.pain_fields import AWAY_AND_HURT, HurtForm, key_of, scale
from program.models import Absence, AssignedSession, AssignedSlot, Completion, CompletionState

NOT_SAID: Final = ("", "rather not say")


@dataclass(frozen=True)
class SlotRow:
    """One exercise of the session in the form, with the names of its fields."""

    slot: AssignedSlot
    key: str
    amounts: tuple[str, ...]

    @property
    def dose(self) -> str:
        """What was asked, in words."""
        return in_words(dose_of(self.slot.revision, self.slot.prescription))

    @property
    def state(self) -> str:
        return f"{self.key}-state"

    @property
    def easier(self) -> str:
        return f"{self.key}-easier"

    @property
    def fields(self) -> tuple[str, ...]:
        easier = (self.easier,) if self.slot.easier_revision else ()
        return (self.state, *(f"{self.key}-{name}" for name in self.amounts), *easier)

    @property
    def helper(self) -> FormHelper:
        state, *others = self.fields
        amounts, easier = others[: len(self.amounts)], others[len(self.amounts) :]
        return form_helper(
            Field(state, wrapper_class="scale"),
            *(Field(name, wrapper_class="log-amount") for name in amounts),
            *(Field(name, wrapper_class="log-easier") for name in easier),
        )


def _row(slot: AssignedSlot) -> SlotRow:
    sided = slot.revision.sides == "each"
    amounts = ("amount_left", "amount_right") if sided else ("amount",)
    return SlotRow(slot, key_of(slot), amounts)


class LogForm(HurtForm):
    state = forms.ChoiceField(
        label="How did it go?",
        choices=CompletionState.choices,
        widget=forms.RadioSelect,
        initial=CompletionState.DONE,
    )
    absence = forms.ChoiceField(
        label="Why not?",
        choices=[(Absence.SICK, "sick"), (Absence.AWAY, "away"), NOT_SAID],
        required=False,
        widget=forms.RadioSelect,
    )
    day = forms.ChoiceField(
        label="When was it done?",
        choices=When.choices,
        required=False,
        widget=forms.RadioSelect,
    )
    done_on = DayField(label="Which day?", required=False)
    told_on = forms.CharField(required=False, widget=forms.HiddenInput)
    effort = scale(
        "How hard was it?",
        [*enumerate(EFFORT), NOT_SAID],
        "Effort runs from 0 to 10.",
    )
    enjoyment = scale(
        "How did you like it?",
        [*enumerate(ENJOYMENT, start=1), NOT_SAID],
        "Enjoyment runs from 1 to 5.",
    )
    minutes = WholeNumberField(
        1, 240, "A session lasts between 1 and 240 minutes.", label="Minutes", required=False
    )
    note = forms.CharField(
        label="A note to the coach",
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, assigned: AssignedSession, data: Any = None) -> None:
        self.assigned = assigned
        self.completion: Completion | None = getattr(assigned, "completion", None)
        self.rows = [_row(slot) for slot in assigned.slots.all()]
        self.today = timezone.localdate()
        super().__init__(assigned, data, self._initial(assigned))
        for row in self.rows:
            self.fields |= _slot_fields(row)

    def _initial(self, assigned: AssignedSession) -> dict[str, Any]:
        day = likely_day(assigned, self.today)
        fresh = {
            "minutes": minutes(assigned.seconds),
            "day": when(day, self.today),
            "done_on": day,
            "told_on": self.today.isoformat(),
        }
        if self.completion is None:
            return fresh
        said = {
            name: getattr(self.completion, name)
            for name in ("state", "absence", "effort", "enjoyment", "minutes", "note")
        }
        return fresh | said | dict(self._results_said(self.completion))

    def _results_said(self, completion: Completion) -> Iterator[tuple[str, Any]]:
        results = {result.assigned_slot_id: result for result in completion.results.all()}
        for row in self.rows:
            result = results.get(row.slot.pk)
            if result:
                yield row.state, result.state
                yield row.easier, result.took_easier
                for name in row.amounts:
                    yield f"{row.key}-{name}", getattr(result, name)

    # What is drawn together, and how.
    absence_helper = form_helper(Field("absence", wrapper_class="scale"))
    state_helper = form_helper(Field("state", template="program/log/fields/state.html"))
    day_helper = form_helper(
        Field("day", template="program/log/fields/day.html"),
        Field("done_on", wrapper_class="log-date"),
        "told_on",
    )
    effort_helper = form_helper(Field("effort", template="program/log/fields/effort.html"))
    enjoyment_helper = form_helper(Field("enjoyment", template="program/log/fields/enjoyment.html"))
    more_helper = form_helper("note", Field("minutes", wrapper_class="log-amount"))

    @property
    def shows_rows(self) -> bool:
        """Whether an exercise was spoken of, or something about one was refused."""
        names = [name for row in self.rows for name in row.fields]
        return any(self[name].value() or name in self.errors for name in names)

    def clean(self) -> dict[str, Any]:
        super().clean()
        if self.assigned.is_called_off:
            raise ValidationError(CALLED_OFF)
        if self.cleaned_data.get("absence") == Absence.AWAY and self._something_hurt():
            self.add_error("absence", AWAY_AND_HURT)
        self._check_day()
        for row in self.rows:
            self._check_row(row)
        return self.cleaned_data

    def _check_day(self) -> None:
        data = self.cleaned_data
        if data.get("state") == CompletionState.NOT_DONE or "done_on" in self.errors:
            return
        said, chosen = data.get("day", ""), data.get("done_on")
        told_on = day_in(data.get("told_on", ""))
        day = said_day(self.assigned, self.today, said, chosen, told_on)
        if day is None:
            self.add_error("done_on", "Choose the day.")
        elif day > self.today:
            self.add_error("done_on", "That day has not come yet.")
        elif day < (first := earliest(self.assigned)):
            self.add_error("done_on", f"Choose a day from {date_in_words(first)} on.")
        data["done_on"] = day

    def _check_row(self, row: SlotRow) -> None:
        if self.cleaned_data.get(row.state) == CompletionState.NOT_DONE and any(
            self._amounts(row).values()
        ):
            first = f"{row.key}-{row.amounts[0]}"
            self.add_error(first, "You said it was not done. Leave this empty, or choose “some”.")

    def _amounts(self, row: SlotRow) -> dict[str, int]:
        there = {name: self.cleaned_data.get(f"{row.key}-{name}") for name in row.amounts}
        return {name: amount for name, amount in there.items() if amount is not None}

    @property
    def entry(self) -> LogEntry:
        """What was said, once the form is valid."""
        data = self.cleaned_data
        return LogEntry(
            state=data["state"],
            absence=data["absence"],
            done_on=data["done_on"],
            effort=data["effort"],
            enjoyment=data["enjoyment"],
            minutes=data["minutes"],
            note=data["note"],
            results=tuple(filter(None, (self._result(row) for row in self.rows))),
        )

    def _result(self, row: SlotRow) -> SlotEntry | None:
        state = self.cleaned_data[row.state]
        easier = bool(self.cleaned_data.get(row.easier))
        amounts = self._amounts(row)
        if not (state or easier or amounts):
            return None
        asked = (row.slot.easier_amount if easier else None) or row.slot.amount
        state = state or state_from_amounts(asked, list(amounts.values()))
        return SlotEntry(row.slot, state, took_easier=easier, **amounts)


_SIDE_LABELS: Final = {"amount": "{unit}", "amount_left": "Left", "amount_right": "Right"}


def _slot_fields(row: SlotRow) -> dict[str, forms.Field]:
    measure = Measure(row.slot.revision.measure)
    high = LIMITS[measure].high
    name = row.slot.revision.name
    fields: dict[str, forms.Field] = {
        row.state: forms.ChoiceField(
            label=f"How {name} went",
            choices=[("", "like the rest"), ("done", "done"), ("some", "some"), ("not", "not")],
            required=False,
            widget=forms.RadioSelect,
        )
    }
    for each in row.amounts:
        fields[f"{row.key}-{each}"] = WholeNumberField(
            0,
            high,
            f"Write the {measure} of one round: 0 to {high}.",
            label=_SIDE_LABELS[each].format(unit=measure.capitalize()),
            required=False,
        )
    if row.slot.easier_revision:
        fields[row.easier] = forms.BooleanField(
            label=f"did the easier one: {row.slot.easier_revision.name}", required=False
        )
    return fields
