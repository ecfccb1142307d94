"""What a family or a coach says about a child's home and body."""

import datetime as dt
from typing import Any, Final

from crispy_forms.layout import Column, Field, Row
from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils import timezone

from athletes.changes import Restricted, Rule, answer_kit, restrict
from athletes.forms.fields import PlainDateField
from athletes.models import Child, HomeKit, User
from athletes.models.circumstances import REGION_CHOICES
from library.body import Region, RestrictionKind, Side
from library.models import Item
from library.shared.dates import date_in_words
from library.shared.forms import form_helper

LONGEST = dt.timedelta(days=366)
FURTHEST_BACK = dt.timedelta(days=92)

KINDS_IN_WORDS: Final = {
    RestrictionKind.NO_LANDING: "No landing: no jumps, hops or skips",
    RestrictionKind.NO_LOADING: "No loading: nothing that works it hard",
    RestrictionKind.NOTHING: "Nothing at all: nothing that even moves it",
}
WHOLE_BODY: Final = "whole_body"
SIDES_IN_WORDS: Final = {
    Side.LEFT: "left",
    Side.RIGHT: "right",
    Side.BOTH: "both, or the middle",
}


class KitForm(forms.Form):
    """What is at home. The page draws the items itself; this reads and checks the answer."""

    items: Any = forms.ModelMultipleChoiceField(
        label="What is at home",
        queryset=Item.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "invalid_choice": "One of these is no longer on the list. Look again, then save.",
            "invalid_pk_value": "One of these is no longer on the list. Look again, then save.",
        },
    )
    nothing = forms.BooleanField(label="None of these", required=False)

    def __init__(self, *args: Any, items: QuerySet[Item], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["items"].queryset = items  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "items" not in data:
            return data
        if data["items"] and data.get("nothing"):
            self.add_error("nothing", "You ticked things and “None of these”. Keep one of the two.")
        if not data["items"] and not data.get("nothing"):
            self.add_error("nothing", "Tick what is there, or “None of these”.")
        return data

    def save(self, child: Child, by: User) -> HomeKit:
        return answer_kit(child, list(self.cleaned_data["items"]), by)


class RestrictionForm(forms.Form):
    """What a child should be spared, and until when; in words, too, where the family agrees to
    them."""

    region = forms.ChoiceField(
        label="Where",
        choices=[("", "choose"), *REGION_CHOICES, (WHOLE_BODY, "whole body: rest")],
        error_messages={
            "required": "Choose where.",
            "invalid_choice": "Choose one of the places in the list.",
        },
    )
    side = forms.ChoiceField(
        label="Which side",
        choices=[(side.value, words) for side, words in SIDES_IN_WORDS.items()],
        widget=forms.RadioSelect,
        error_messages={
            "required": "Choose a side, or “both, or the middle”.",
            "invalid_choice": "Choose left, right or both.",
        },
    )
    kind = forms.ChoiceField(
        label="What to leave out",
        choices=[(kind.value, words) for kind, words in KINDS_IN_WORDS.items()],
        widget=forms.RadioSelect,
        error_messages={
            "required": "Choose what to leave out.",
            "invalid_choice": "Choose one of the three.",
        },
    )
    start = PlainDateField(label="From")
    until = PlainDateField(
        label="Until",
        missing="Choose the last day. You can set it again.",
        help_text="The last day it holds. It ends by itself; nobody has to remember.",
    )
    note = forms.CharField(
        label="Anything the coach should know",
        max_length=200,
        required=False,
        help_text="Optional. What it means for moving is enough; no diagnosis is needed.",
        error_messages={"max_length": "At most 200 characters."},
    )

    def __init__(self, *args: Any, takes_words: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["start"].initial = timezone.localdate
        rows = ["region", Field("side", wrapper_class="scale"), "kind"]
        rows.append(Row(Column("start"), Column("until")))
        if takes_words:
            rows.append("note")
        else:
            del self.fields["note"]
        self.helper = form_helper(*rows)

    @property
    def is_without_its_words(self) -> bool:
        """Whether words were sent that there is no field for any more."""
        return "note" not in self.fields and bool(self.data.get("note"))

    def clean_start(self) -> dt.date:
        start: dt.date = self.cleaned_data["start"]
        today = timezone.localdate()
        if start < today - FURTHEST_BACK:
            raise ValidationError("At most three months back.", code="far")
        if start > today + LONGEST:
            raise ValidationError("At most a year ahead.", code="far")
        return start

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if {"start", "until"} <= data.keys():
            refusal = self._refusal(data["start"], data["until"])
            if refusal:
                self.add_error("until", ValidationError(refusal, code="days"))
        return data

    def _refusal(self, start: dt.date, until: dt.date) -> str:
        if until < start:
            return f"This is before it starts, on {date_in_words(start)}."
        if until < timezone.localdate():
            return "This day is over already. Choose today or later."
        if until > start + LONGEST:
            return "At most a year. Set it again then if it is still needed."
        return ""

    def restrict(self, child: Child, by: User) -> Restricted:
        data = self.cleaned_data
        rests = data["region"] == WHOLE_BODY
        rule = Rule(
            region=None if rests else Region(data["region"]),
            side=Side.BOTH if rests else Side(data["side"]),
            kind=RestrictionKind.NOTHING if rests else RestrictionKind(data["kind"]),
            start=data["start"],
            until=data["until"],
            note=data.get("note", ""),
        )
        return restrict(child, rule, by, timezone.localdate())
