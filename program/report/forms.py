"""The forms in which a coach reads a report over, and corrects one that the family has."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from crispy_forms.layout import Layout
from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction

from library.shared.forms import form_helper
from program.common.edit_conflicts import EditConflict, refuse_unseen
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
        self.helper = form_helper(*_OWN, "words")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for section, name in zip(SECTIONS, _OWN, strict=True):
            if name in data and _plain(data[name]) == _plain(self.instance.generated(section)):
                data[name] = ""
        return data

    def save_by(self, by: "User", now: dt.datetime) -> None:
        """Keep the coach's part. Raises EditConflict where the report is sent, or somebody else
        has changed it since this form was filled; nothing is kept then."""
        with transaction.atomic():
            there = self._stored()
            if there.sent_at:
                raise EditConflict(
                    "It was sent meanwhile. What you wrote can go out as a correction."
                )
            refuse_unseen(
                self.cleaned_data["version"],
                there.version,
                f"{there.edited_by or 'Somebody'} has changed this report meanwhile. Yours stands "
                "below and is not saved; saving again writes it over theirs.",
            )
            self._put_into(there)
            there.edited_by, there.edited_at = by, now
            there.save(update_fields=[*self.Meta.fields, "version", "edited_by", "edited_at"])

    def _stored(self) -> Report:
        """The report as it stands, locked."""
        return Report.objects.select_for_update(of=("self",)).with_people().get(pk=self.instance.pk)

    def _put_into(self, there: Report) -> None:
        for name in self.Meta.fields:
            setattr(there, name, self.cleaned_data[name])
        there.version += 1


@dataclass(frozen=True)
class _Read:
    """All that a family reads in a report."""

    texts: tuple[str, ...]
    words: str
    paths: Any

    @classmethod
    def of(cls, report: Report) -> "_Read":
        texts = tuple(_plain(report.text(section)) for section in SECTIONS)
        return cls(texts, _plain(report.words), report.written.get("paths", []))


class CorrectionForm(ReportForm):
    """What takes the place of a report the family has. With `fresh`, what is written from the logs
    today stands where the coach has put nothing of their own."""

    class Meta(ReportForm.Meta):
        fields = (*ReportForm.Meta.fields, "correction")
        labels = ReportForm.Meta.labels | {"correction": "What you put right"}
        help_texts = ReportForm.Meta.help_texts | {
            "correction": "In a sentence, for the family: it stands above the report."
        }

    read = forms.CharField(widget=forms.HiddenInput, required=False, max_length=300)
    """The words that somebody has been asked to read again."""

    def __init__(self, report: Report, data: Any = None, fresh: dict[str, Any] | None = None):
        self.is_anew = fresh is not None
        if fresh is not None:
            report.written = fresh
        super().__init__(report, data)
        self.initial["correction"] = ""
        self.fields["correction"].required = True
        self.helper.layout = Layout(*_OWN, "words", "correction")

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        told = [data.get(name, "") for name in self.Meta.fields]
        self.to_read = _listed(told)
        if self.to_read and self.to_read != data.get("read"):
            raise ValidationError(
                f"Read {self.to_read} again: a report is of what this child did, not of weight, "
                "looks or other children. Sent once more, it goes out as it stands."
            )
        return data

    def correct_by(self, by: "User", now: dt.datetime) -> Report | None:
        """Put it in the place of what stands, which is kept; None where it stands so already.
        Raises EditConflict where somebody else has corrected it since this form was filled, and
        ValidationError where nothing is put right. Call inside a transaction."""
        there, after = self._stored(), _Read.of(self.instance)
        same = _Read.of(there) == after
        if same and there.correction == self.cleaned_data["correction"]:
            return None
        refuse_unseen(
            self.cleaned_data["version"],
            there.version,
            f"{there.corrected_by or 'Somebody'} has corrected this report meanwhile. Yours stands "
            "below and is not sent; sending it again puts it in the place of theirs.",
        )
        if same:
            raise ValidationError("Nothing in it is changed, so there is nothing to correct.")
        there.keep_as_it_stands()
        if _plain(there.words) != after.words:
            there.words_by = by
        self._put_into(there)
        there.written = self.instance.written
        there.corrected_by, there.corrected_at = by, now
        there.save()
        return there


def _plain(text: str) -> str:
    return " ".join(text.split())


def to_read_again(report: Report) -> str:
    """Words a coach may want to read again before they go to a family, "" for none."""
    own = [getattr(report, name) for name in ReportForm.Meta.fields]
    return _listed(own)


def _listed(texts: Iterable[str]) -> str:
    return listed([f"“{word}”" for word in delicate_words(" ".join(texts))])
