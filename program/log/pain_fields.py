"""The fields in which somebody says that something hurts: the same wherever a session is logged."""

import uuid
from collections.abc import Mapping
from typing import Any, Final

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field
from django import forms

from athletes.models import ConsentPurpose
from athletes.models.circumstances import REGION_CHOICES
from library.shared.forms import form_helper
from program.log.pain_reports import PainEntry
from program.models import Absence, AssignedSession, AssignedSlot
from program.models.pain import SIGN_CHOICES, SYMPTOM_CHOICES

SIDES_THAT_HURT: Final = [("left", "left"), ("right", "right"), ("both", "both, or the middle")]
PLACES: Final = [("A place", REGION_CHOICES), ("Something else", SYMPTOM_CHOICES)]
"""What can be said: a place that exercises can spare, or what none can be chosen around."""
_SYMPTOMS: Final = frozenset(value for value, _ in SYMPTOM_CHOICES)


AWAY_AND_HURT: Final = "You said away, and that something hurt. Which of the two is it?"


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


def key_of(slot: AssignedSlot) -> str:
    """By its place and not by its row, so that what was typed survives publishing again."""
    return f"p{slot.part_position}s{slot.position}"


class HurtForm(forms.Form):
    """What is wrong, on which side and how much, asked for only where something hurt at all; in
    words, too, where the family agrees to them. Without a session it is about none: the one it came
    from is gone."""

    hurt = forms.ChoiceField(
        label="Did something hurt, or were you not well?",
        choices=[("no", "no"), ("yes", "yes")],
        required=False,
        widget=forms.RadioSelect,
    )
    hurt_id = forms.CharField(widget=forms.HiddenInput, required=False)
    hurt_region = forms.ChoiceField(
        label="Where, or what?", choices=[("", "Choose"), *PLACES], required=False
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
    hurt_signs = forms.MultipleChoiceField(
        label="Any of this with it?",
        choices=SIGN_CHOICES,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    hurt_slot = forms.ChoiceField(label="On which exercise?", required=False)
    hurt_note = forms.CharField(label="What happened?", max_length=300, required=False)

    hurt_helper = form_helper(Field("hurt", wrapper_class="scale"))

    def __init__(
        self,
        assigned: AssignedSession | None,
        data: Any,
        initial: Mapping[str, Any] | None = None,
        prefix: str | None = None,
    ) -> None:
        said = {"hurt_id": uuid.uuid4()} | dict(initial or {})
        super().__init__(data, initial=said, prefix=prefix)
        if assigned and not assigned.agreements.agree_to(ConsentPurpose.HEALTH_NOTES):
            del self.fields["hurt_note"]
        self.slots = {key_of(slot): slot for slot in assigned.slots.all()} if assigned else {}
        if assigned is None:
            del self.fields["hurt_slot"]
            return
        self.fields["hurt_slot"].choices = [  # type: ignore[attr-defined]
            ("", "not on one of these"),
            *((key, slot.revision.name) for key, slot in self.slots.items()),
        ]

    @property
    def is_without_its_words(self) -> bool:
        """Whether words were sent that there is no field for any more."""
        return "hurt_note" not in self.fields and bool(self.typed("hurt_note"))

    @property
    def pain_helper(self) -> FormHelper:
        more = [name for name in ("hurt_slot", "hurt_note") if name in self.fields]
        return form_helper(
            "hurt_id",
            "hurt_region",
            Field("hurt_side", wrapper_class="scale"),
            Field("hurt_level", wrapper_class="scale"),
            Field("hurt_signs", wrapper_class="scale"),
            *more,
        )

    def clean(self) -> dict[str, Any]:
        if self._something_hurt():
            self._require("hurt_region", "Say where it hurts, or what is wrong.")
            if self.cleaned_data.get("hurt_region") not in _SYMPTOMS:
                self._require("hurt_side", "Say on which side.")
                self._require("hurt_level", "Say how much, from 1 to 10.")
        return self.cleaned_data

    def typed(self, name: str) -> str:
        """What was sent in a field, "" for nothing."""
        return str(self.data.get(self.add_prefix(name), ""))

    def _something_hurt(self) -> bool:
        """A plain no is a no; where neither was chosen, a place or a number says yes."""
        said = self.typed("hurt")
        if said in {"yes", "no"}:
            return said == "yes"
        return bool(self.typed("hurt_region") or self.typed("hurt_level"))

    def _require(self, name: str, refusal: str) -> None:
        if not self.cleaned_data.get(name) and name not in self.errors:
            self.add_error(name, refusal)

    @property
    def pain(self) -> PainEntry | None:
        """What hurt, once what is said of it is valid."""
        if not self._something_hurt():
            return None
        data = self.cleaned_data
        place = data["hurt_region"]
        is_symptom = place in _SYMPTOMS
        return PainEntry(
            public_id=_uuid(data.get("hurt_id", "")),
            region="" if is_symptom else place,
            symptom=place if is_symptom else "",
            side=data.get("hurt_side") or "both",
            level=data.get("hurt_level"),
            signs=tuple(data.get("hurt_signs") or ()),
            note=data.get("hurt_note", ""),
            slot=self.slots.get(data.get("hurt_slot", "")),
        )


class SentHurtForm(HurtForm):
    """The same, sent by a phone long after: what is missing cannot be asked for any more, and a
    place alone is a report. Whatever else cannot be read is left out."""

    def clean(self) -> dict[str, Any]:
        return self.cleaned_data

    @property
    def pain(self) -> PainEntry | None:
        return super().pain if self.cleaned_data.get("hurt_region") else None


def pain_in(
    data: Any, assigned: AssignedSession | None, prefix: str | None = None
) -> PainEntry | None:
    """What is said to hurt in a form that was sent, whatever becomes of the rest of it; None where
    nothing is, or where the form has to ask back."""
    form = HurtForm(assigned, data, prefix=prefix)
    return form.pain if form.is_valid() else None


def pain_in_log(data: Any, assigned: AssignedSession) -> PainEntry | None:
    """The same of one child's log; whether it was away, or hurt, is asked back first."""
    return None if data.get("absence") == Absence.AWAY else pain_in(data, assigned)


def pain_sent(fields: Any, assigned: AssignedSession | None) -> PainEntry | None:
    """The same of what a phone sent, which cannot be asked back."""
    form = SentHurtForm(assigned, fields)
    form.is_valid()
    return form.pain


def _uuid(text: str) -> uuid.UUID:
    """The id a form came with; nobody is told of a hidden field, so a wrong one is made good."""
    try:
        return uuid.UUID(text)
    except ValueError:
        return uuid.uuid4()
