"""The form of copying a session or a week to other weeks: read from a query to be looked at, and
from a post to be done."""

from typing import Any

from crispy_forms.bootstrap import InlineCheckboxes, InlineRadios
from crispy_forms.layout import Div
from django import forms

from library.shared.forms import form_helper
from program.blocks.copy_forward import BEYOND, CHANGES, TAKEN, CopyRequest, Taken
from program.engine.copy_forward import DELOAD_PERCENT, DELOAD_SHARES, Beyond, Change
from program.engine.timeline import PartKind
from program.models import Block

ALL_AFTER = "after"


def share_in_words(share: int) -> str:
    return f"{share} %, common practice" if share == DELOAD_PERCENT else f"{share} %"


class CopyForm(forms.Form):
    to = forms.MultipleChoiceField(
        label="To",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Choose at least one week.",
            "invalid_choice": "Choose weeks of this block, other than the one you copy.",
        },
    )
    change = forms.ChoiceField(
        label="With", choices=list(CHANGES.items()), widget=forms.RadioSelect
    )
    share = forms.ChoiceField(
        label="Of the work, the deload leaves",
        choices=[(share, share_in_words(share)) for share in DELOAD_SHARES],
        widget=forms.RadioSelect,
        required=False,
    )
    pace = forms.ChoiceField(
        label="Over several weeks",
        choices=[("more", "once more in each"), ("same", "the same in all")],
        widget=forms.RadioSelect,
    )
    beyond = forms.ChoiceField(
        label="Where that would leave the range an exercise is used with",
        choices=list(BEYOND.items()),
        widget=forms.RadioSelect,
    )
    taken = forms.ChoiceField(
        label="Where a week holds sessions already",
        choices=list(TAKEN.items()),
        widget=forms.RadioSelect,
    )
    also = forms.MultipleChoiceField(
        label="Change these, too; otherwise they stay as written",
        choices=[(PartKind.WARM_UP, "warm-ups"), (PartKind.COOL_DOWN, "cool-downs")],
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )

    BEGINS_WITH = {
        "change": Change.NOTHING,
        "share": DELOAD_PERCENT,
        "pace": "more",
        "beyond": Beyond.STAY,
        "taken": Taken.SKIP,
    }

    def __init__(self, block: Block, week: int, data: Any = None) -> None:
        super().__init__(data, initial=self.BEGINS_WITH, auto_id="carry-%s")
        self.week = week
        self.weeks = [number for number in range(1, block.weeks + 1) if number != week]
        to: Any = self.fields["to"]
        after = [(ALL_AFTER, "all weeks after it")] if block.weeks > week + 1 else []
        to.choices = [*after, *((str(number), f"week {number}") for number in self.weeks)]
        self.helper = form_helper(
            InlineCheckboxes("to"),
            InlineRadios("change"),
            Div(InlineRadios("share"), css_class="carry-share"),
            Div(InlineRadios("pace"), InlineRadios("beyond"), css_class="carry-steps"),
            InlineRadios("taken"),
            InlineCheckboxes("also"),
        )

    def copy_request(self, session_id: int | None) -> CopyRequest:
        """What a valid form asks for."""
        data = self.cleaned_data
        chosen = {int(number) for number in data["to"] if number != ALL_AFTER}
        if ALL_AFTER in data["to"]:
            chosen |= {number for number in self.weeks if number > self.week}
        return CopyRequest(
            week=self.week,
            session_id=session_id,
            to=tuple(sorted(chosen)),
            change=Change(data["change"]),
            beyond=Beyond(data["beyond"]),
            once_more=data["pace"] == "more",
            taken=Taken(data["taken"]),
            share=int(data["share"] or DELOAD_PERCENT),
            also=tuple(sorted(map(PartKind, data["also"]))),
        )
