"""The form of an exercise's progression over the weeks of a block."""

from typing import Any

from crispy_forms.layout import HTML, Div, Submit
from django import forms
from django.core.exceptions import ValidationError

from library.models import ExerciseRevision
from library.shared.forms import form_helper
from program.common.fields import WholeNumberField
from program.engine.dose.dose import DELOAD_IN_WORDS, Measure
from program.engine.progression import ProgressionKind, ProgressionRule, read_wave, wave_text
from program.engine.weeks import MOST_WEEKS
from program.models import Progression, ProgressionKindChoices, Session, Slot

AMOUNT = "Choose between 1 and 600."
USUAL_STEPS = {Measure.REPETITIONS: 1, Measure.SECONDS: 5, Measure.METRES: 2}
USUAL_WAVE = "2-3-3-deload"


class ProgressionForm(forms.Form):
    """A progression; its `rule` once it is valid."""

    kind = forms.ChoiceField(
        label="From week to week it is to",
        choices=ProgressionKindChoices.choices,
        widget=forms.RadioSelect,
    )
    start = WholeNumberField(1, 600, AMOUNT, label="Starting with")
    first_week = WholeNumberField(
        1,
        MOST_WEEKS + 1,
        "Choose a week of the block.",
        label="From week",
        required=False,
        help_text="What is written in the weeks before it stays.",
    )
    step = WholeNumberField(1, 600, AMOUNT, label="Adding", required=False)
    every = WholeNumberField(
        1, MOST_WEEKS, f"Choose between 1 and {MOST_WEEKS} weeks.", label="Every so many weeks"
    )
    top = WholeNumberField(1, 600, AMOUNT, label="Up to", required=False)
    wave = forms.CharField(
        label="Rounds of each week",
        max_length=80,
        required=False,
        help_text="Such as 2-3-3-deload; then it begins again."
        f" A deload leaves {DELOAD_IN_WORDS} of the rounds."
        " They are the rounds of the whole part.",
    )

    def __init__(
        self,
        slot: Slot,
        revision: ExerciseRevision,
        progression: Progression | None,
        wave_of: str,
        session: Session,
        data: Any = None,
    ) -> None:
        """`session` is the slot's: what is set in a week begins in it, unless said otherwise."""
        initial = _initial(progression) if progression else {}
        week = session.block.week_of(session.date)
        super().__init__(data, initial=_usual(slot, revision) | {"first_week": week} | initial)
        self.weeks, self.week = session.block.weeks, week
        self.measure = Measure(revision.measure)
        self.wave_of = wave_of
        self.fields["every"].required = False
        self.fields[
            "start"
        ].help_text = f"In {self.measure}; it is used with {revision.low} to {revision.high}."
        self.helper = form_helper(
            "kind",
            "start",
            "first_week",
            Div("step", "every", "top", css_class="progression-grow"),
            Div("wave", css_class="progression-wave"),
            Div(
                HTML('<button class="btn" name="look" value="1">See each week first</button>'),
                Submit("", "Update the drafts"),
                css_class="form-actions",
            ),
        )

    def clean_first_week(self) -> int:
        """The week in which the slot stands, where nothing is said."""
        week: int = self.cleaned_data["first_week"] or self.week
        if week > self.weeks:
            raise ValidationError(f"Choose a week of the block, from 1 to {self.weeks}.")
        return week

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors:
            try:
                self.rule = self._rule(data)
                self.rule.check_amounts(self.measure)
            except ValueError as why:
                raise ValidationError(str(why)) from None
        return data

    def _rule(self, said: dict[str, Any]) -> ProgressionRule:
        kind = ProgressionKind(said["kind"])
        if kind is ProgressionKind.GROW:
            step, top = said.get("step") or 0, said.get("top") or 0
            return ProgressionRule(kind, said["start"], step, said.get("every") or 1, top)
        if kind is ProgressionKind.WAVE:
            if self.wave_of:
                raise ValueError(
                    f"The rounds of this part follow {self.wave_of} already: one wave a part."
                )
            return ProgressionRule(kind, said["start"], wave=read_wave(said["wave"]))
        return ProgressionRule(kind, said["start"])


def _usual(slot: Slot, revision: ExerciseRevision) -> dict[str, Any]:
    return {
        "kind": ProgressionKind.GROW.value,
        "start": slot.amount,
        "step": USUAL_STEPS[Measure(revision.measure)],
        "every": 1,
        "top": max(revision.high, slot.amount + 1),
        "wave": USUAL_WAVE,
    }


def _initial(progression: Progression) -> dict[str, Any]:
    """What the form shows of a progression; of another kind's fields, what is usual."""
    rule = progression.rule
    shown: dict[str, Any] = {
        "kind": rule.kind.value,
        "start": rule.start,
        "first_week": progression.first_week,
    }
    if rule.kind is ProgressionKind.GROW:
        shown |= {"step": rule.step, "every": rule.every, "top": rule.top}
    if rule.kind is ProgressionKind.WAVE:
        shown["wave"] = wave_text(rule.wave)
    return shown
