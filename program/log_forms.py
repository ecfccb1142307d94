"""The form a session is logged with: the same for a family and for a coach.

Only the state is asked for; all else may be left out. What a field refuses, it refuses in one
sentence, and keeps what was typed.
"""

import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout
from django import forms
from django.core.exceptions import ValidationError

from athletes.models.circumstances import REGION_CHOICES
from program.engine.dose import LIMITS, Measure, in_words
from program.family_words import EFFORT, ENJOYMENT, minutes
from program.forms import WholeNumberField
from program.logbook import LogEntry, PainEntry, SlotEntry, state_from_amounts
from program.models import AssignedSession, AssignedSlot, Completion, Done
from program.plan import dose_of

NOT_SAID: Final = ("", "rather not say")
SIDES_THAT_HURT: Final = [("left", "left"), ("right", "right"), ("both", "both, or the middle")]


def scale(label: str, choices: list[tuple[Any, str]], refusal: str, **kwargs: Any) -> Any:
    """A number chosen from a few, each with its word. None where nothing was chosen."""
    field = forms.TypedChoiceField(
        label=label,
        choices=choices,
        coerce=int,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        **kwargs,
    )
    field.error_messages["invalid_choice"] = refusal
    return field


def drawn(*fields: Any) -> FormHelper:
    """Some of a form's fields, drawn where a page wants them."""
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    helper.layout = Layout(*fields)
    return helper


@dataclass(frozen=True)
class SlotRow:
    """One exercise of the session in the form, with the names of its fields."""

    slot: AssignedSlot
    key: str
    amounts: tuple[str, ...]

    @property
    def dose(self) -> str:
        """What was asked, in words."""
        slot = self.slot
        return in_words(dose_of(slot.revision, slot.amount, ""))

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
        return drawn(
            Field(state, wrapper_class="scale"),
            *(Field(name, wrapper_class="log-amount") for name in amounts),
            *(Field(name, wrapper_class="log-easier") for name in easier),
        )


def _row(slot: AssignedSlot) -> SlotRow:
    sided = slot.revision.sides == "each"
    amounts = ("amount_left", "amount_right") if sided else ("amount",)
    # By its place and not by its row, so that what was typed survives publishing again.
    return SlotRow(slot, f"p{slot.part_position}s{slot.position}", amounts)


class LogForm(forms.Form):
    state = forms.ChoiceField(
        label="How did it go?", choices=Done.choices, widget=forms.RadioSelect, initial=Done.DONE
    )
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
    hurt = forms.ChoiceField(
        label="Did something hurt?",
        choices=[("no", "no"), ("yes", "yes")],
        required=False,
        widget=forms.RadioSelect,
    )
    hurt_id = forms.CharField(widget=forms.HiddenInput, required=False)
    hurt_region = forms.ChoiceField(
        label="Where?", choices=[("", "Choose"), *REGION_CHOICES], required=False
    )
    hurt_side = forms.ChoiceField(
        label="Which side?", choices=SIDES_THAT_HURT, required=False, widget=forms.RadioSelect
    )
    hurt_level = scale(
        "How much?",
        [(level, str(level)) for level in range(1, 11)],
        "How much it hurts runs from 1 to 10.",
        help_text="1: only just there. 10: the worst there is.",
    )
    hurt_slot = forms.ChoiceField(label="On which exercise?", required=False)
    hurt_note = forms.CharField(label="What happened?", max_length=300, required=False)

    def __init__(self, assigned: AssignedSession, data: Any = None) -> None:
        self.assigned = assigned
        self.completion: Completion | None = getattr(assigned, "completion", None)
        super().__init__(data, initial=self._initial())
        self.fields["hurt_slot"].choices = [  # type: ignore[attr-defined]
            ("", "not on one of these"),
            *((row.key, row.slot.revision.name) for row in self.rows),
        ]
        for row in self.rows:
            self.fields |= _slot_fields(row)

    @cached_property
    def rows(self) -> list[SlotRow]:
        return [_row(slot) for slot in self.assigned.slots.all()]

    def _initial(self) -> dict[str, Any]:
        fresh = {"hurt_id": uuid.uuid4(), "minutes": minutes(self.assigned.seconds)}
        if self.completion is None:
            return fresh
        said = {
            name: getattr(self.completion, name)
            for name in ("state", "effort", "enjoyment", "minutes", "note")
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
    state_helper = drawn(Field("state", template="program/fields/state.html"))
    effort_helper = drawn(Field("effort", template="program/fields/effort.html"))
    enjoyment_helper = drawn(Field("enjoyment", template="program/fields/enjoyment.html"))
    hurt_helper = drawn(Field("hurt", wrapper_class="scale"))
    pain_helper = drawn(
        "hurt_id",
        "hurt_region",
        Field("hurt_side", wrapper_class="scale"),
        Field("hurt_level", wrapper_class="scale"),
        "hurt_slot",
        "hurt_note",
    )
    more_helper = drawn("note", Field("minutes", wrapper_class="log-amount"))

    @property
    def shows_rows(self) -> bool:
        """Whether an exercise was spoken of, or something about one was refused."""
        names = [name for row in self.rows for name in row.fields]
        return any(self[name].value() or name in self.errors for name in names)

    def clean(self) -> dict[str, Any]:
        if self._something_hurt():
            self._require("hurt_region", "Say where it hurts.")
            self._require("hurt_side", "Say on which side.")
            self._require("hurt_level", "Say how much, from 1 to 10.")
        for row in self.rows:
            self._check_row(row)
        return self.cleaned_data

    def _something_hurt(self) -> bool:
        """A plain no is a no; where neither was chosen, a place or a number says yes."""
        said = self.data.get("hurt", "")
        if said in {"yes", "no"}:
            return bool(said == "yes")
        return bool(self.data.get("hurt_region") or self.data.get("hurt_level"))

    def _require(self, name: str, refusal: str) -> None:
        if not self.cleaned_data.get(name) and name not in self.errors:
            self.add_error(name, refusal)

    def _check_row(self, row: SlotRow) -> None:
        if self.cleaned_data.get(row.state) == Done.NOT and any(self._amounts(row).values()):
            first = f"{row.key}-{row.amounts[0]}"
            self.add_error(first, "You said it was not done. Leave this empty, or choose “some”.")

    def _amounts(self, row: SlotRow) -> dict[str, int]:
        there = {name: self.cleaned_data.get(f"{row.key}-{name}") for name in row.amounts}
        return {name: amount for name, amount in there.items() if amount is not None}

    @property
    def entry(self) -> LogEntry:
        """What was said, once the form is valid."""
        said = self.cleaned_data
        return LogEntry(
            state=said["state"],
            effort=said["effort"],
            enjoyment=said["enjoyment"],
            minutes=said["minutes"],
            note=said["note"],
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

    @property
    def pain(self) -> PainEntry | None:
        """What hurt, once the form is valid."""
        if not self._something_hurt():
            return None
        said = self.cleaned_data
        slots = {row.key: row.slot for row in self.rows}
        return PainEntry(
            public_id=_uuid(said["hurt_id"]),
            region=said["hurt_region"],
            side=said["hurt_side"],
            level=said["hurt_level"],
            note=said["hurt_note"],
            slot=slots.get(said["hurt_slot"]),
        )


def _uuid(text: str) -> uuid.UUID:
    """The id a form came with; nobody is told of a hidden field, so a wrong one is made good."""
    try:
        return uuid.UUID(text)
    except ValueError:
        return uuid.uuid4()


_UNITS: Final = {
    Measure.REPETITIONS: "Repetitions",
    Measure.SECONDS: "Seconds",
    Measure.METRES: "Metres",
}
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
            label=_SIDE_LABELS[each].format(unit=_UNITS[measure]),
            required=False,
        )
    if row.slot.easier_revision:
        fields[row.easier] = forms.BooleanField(
            label=f"did the easier one: {row.slot.easier_revision.name}", required=False
        )
    return fields


class InviteGuardianForm(forms.Form):
    """An invitation for one more parent or guardian of a child."""

    email = forms.EmailField(
        label="Their email address",
        help_text="They get a link that works once, within seven days.",
        error_messages={"invalid": "This is not an email address."},
    )

    def __init__(self, taken: set[str], data: Any = None) -> None:
        super().__init__(data)
        self.taken = taken
        self.helper = drawn("email")

    def clean_email(self) -> str:
        email = str(self.cleaned_data["email"]).strip().lower()
        if email in self.taken:
            raise ValidationError("This person already sees your child here.")
        return email
