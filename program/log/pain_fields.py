"""The fields in which somebody says that something hurts: the same wherever a session is logged."""

import uuid
from typing import Any, Final

from crispy_forms.layout import Field
from django import forms

from athletes.models.circumstances import REGION_CHOICES
from library.shared.forms import form_helper
from program.log.logbook import PainEntry
from program.models import AssignedSession, AssignedSlot

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


def key_of(slot: AssignedSlot) -> str:
    """By its place and not by its row, so that what was typed survives publishing again."""
    return f"p{slot.part_position}s{slot.position}"


class HurtForm(forms.Form):
    """Where, on which side and how much, asked for only where something hurt at all."""

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

    hurt_helper = form_helper(Field("hurt", wrapper_class="scale"))
    pain_helper = form_helper(
        "hurt_id",
        "hurt_region",
        Field("hurt_side", wrapper_class="scale"),
        Field("hurt_level", wrapper_class="scale"),
        "hurt_slot",
        "hurt_note",
    )

    def __init__(
        self,
        assigned: AssignedSession,
        data: Any,
        initial: dict[str, Any],
        prefix: str | None = None,
    ) -> None:
        self.assigned = assigned
        super().__init__(data, initial={"hurt_id": uuid.uuid4()} | initial, prefix=prefix)
        self.slots = {key_of(slot): slot for slot in assigned.slots.all()}
        self.fields["hurt_slot"].choices = [  # type: ignore[attr-defined]
            ("", "not on one of these"),
            *((key, slot.revision.name) for key, slot in self.slots.items()),
        ]

    def clean(self) -> dict[str, Any]:
        if self._something_hurt():
            self._require("hurt_region", "Say where it hurts.")
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
        """What hurt, once the form is valid."""
        if not self._something_hurt():
            return None
        data = self.cleaned_data
        return PainEntry(
            public_id=_uuid(data["hurt_id"]),
            region=data["hurt_region"],
            side=data["hurt_side"],
            level=data["hurt_level"],
            note=data["hurt_note"],
            slot=self.slots.get(data["hurt_slot"]),
        )


def _uuid(text: str) -> uuid.UUID:
    """The id a form came with; nobody is told of a hidden field, so a wrong one is made good."""
    try:
        return uuid.UUID(text)
    except ValueError:
        return uuid.uuid4()
