"""The forms of the checks: a program's own limits, and why a session goes out despite a stop."""

from typing import Any

from django import forms

from library.shared.forms import form_helper
from library.shared.reasons import ReasonField
from program.common.fields import WholeNumberField
from program.engine.checks import Limit, Rule, Setting


class CheckForm(forms.Form):
    """Whether a check is on, its limit where it has one, and why it is changed."""

    is_off = forms.BooleanField(label="Switch it off for everybody", required=False)
    reason = ReasonField(label="Why", help_text="Kept with your name and the day.")

    def __init__(self, rule: Rule, limit: Limit, data: Any, *, is_off: bool) -> None:
        super().__init__(data, initial={"is_off": is_off, **limit._asdict()})
        self.rule = rule
        for end, label in (("least", "At least"), ("most", "At most")):
            if getattr(rule.usual, end) is not None:
                self.fields[end] = self._number(label)
        self.order_fields(["is_off", "least", "most", "reason"])
        self.helper = form_helper(*self.fields, submit="Save for everybody")

    def _number(self, label: str) -> WholeNumberField:
        low, high = self.rule.allowed
        unit = self.rule.unit
        refusal = f"Choose between {low} and {high} {unit}."
        return WholeNumberField(low, high, refusal, label=f"{label} ({unit})", required=False)

    @property
    def setting(self) -> Setting:
        data = self.cleaned_data
        if data["is_off"]:
            return Setting(is_off=True)
        return Setting(limit=Limit(data.get("least"), data.get("most")))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if not self.errors and not data.get("is_off"):
            refusal = self._refusal(Limit(data.get("least"), data.get("most")))
            if refusal:
                self.add_error("most" if "most" in self.fields else None, refusal)
        return data

    def _refusal(self, limit: Limit) -> str:
        if not self.rule.has_limit:
            return "This check has no number: it can only be switched off."
        return self.rule.refusal(limit)
