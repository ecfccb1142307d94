"""The form in which a coach reads a report over before it goes to the family."""

import datetime as dt
from typing import TYPE_CHECKING, Any, Final

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction

from program.engine.report import delicate_words, listed
from program.models import Report
from program.models.reports import SECTIONS

if TYPE_CHECKING:
    from athletes.models import User

TITLES: Final = {
    "practised": "What was practised",
    "learnt": "What was learnt",
    "consistency": "How steadily",
    "ahead": "What comes next",
}
_OWN: Final = tuple(f"own_{section}" for section in SECTIONS)


class ReportForm(forms.ModelForm):  # type: ignore[type-arg]
    """Each paragraph stands there as the family would read it. One that is left as it was written
    is not kept, so that it follows when it is written anew."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=2**31 - 1)

    class Meta:
        model = Report
        fields = ("words", *_OWN)
        labels = {"words": "Your own words"} | {
            f"own_{section}": title for section, title in TITLES.items()
        }
        help_texts = {
            "words": "Of effort and control, and of this child alone: no other children, no "
            "weight, no looks.",
            **dict.fromkeys(_OWN, ""),
        }

    def __init__(self, report: Report, data: Any = None) -> None:
        super().__init__(data, instance=report)
        for section, name in zip(SECTIONS, _OWN, strict=True):
            self.initial[name] = report.text(section)
            self.fields[name].required = False
        self.initial["version"] = report.version
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout(*_OWN, "words")

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        for section, name in zip(SECTIONS, _OWN, strict=True):
            if name in said and _plain(said[name]) == _plain(self.instance.generated(section)):
                said[name] = ""
        return said

    def save_by(self, by: "User", now: dt.datetime) -> None:
        """Keep the coach's part. Raises ValidationError where the report is sent, or somebody else
        has changed it since this form was filled; nothing is kept then."""
        with transaction.atomic():
            stored = Report.objects.select_for_update(of=("self",)).select_related("edited_by")
            there = stored.get(pk=self.instance.pk)
            if there.sent_at:
                raise ValidationError("This report is sent, and stays as it was sent.")
            if there.version != self.cleaned_data["version"]:
                who = there.edited_by.name if there.edited_by else "Somebody"
                raise ValidationError(
                    f"{who} has changed this report meanwhile. Yours stands below and is not "
                    "saved; saving again writes it over theirs."
                )
            for name in self.Meta.fields:
                setattr(there, name, self.cleaned_data[name])
            there.version += 1
            there.edited_by, there.edited_at = by, now
            there.save(update_fields=[*self.Meta.fields, "version", "edited_by", "edited_at"])


def _plain(text: str) -> str:
    return " ".join(text.split())


def to_read_again(report: Report) -> str:
    """Words a coach may want to read again before they go to a family, "" for none."""
    own = [getattr(report, name) for name in ReportForm.Meta.fields]
    return listed([f"“{word}”" for word in delicate_words(" ".join(own))])
