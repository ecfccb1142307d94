"""What a family agrees to, said here or on paper."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from crispy_forms.layout import Field
from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.consent_texts import TEXTS
from athletes.consents import Answer, Question, Questions, answer_on_paper
from athletes.forms.fields import PlainDateField
from athletes.models import Child, Consent, ConsentPurpose, User
from library.shared.forms import form_helper
from library.shared.ids import whole_number

CHOICES: Final = [("yes", "Yes"), ("no", "No")]
CHANGED_MEANWHILE: Final = "This text has changed since you opened the page. Please read it again."
LONGEST_AGO: Final = dt.timedelta(days=5 * 366)


def _choice(label: str, initial: str) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        choices=CHOICES,
        initial=initial,
        required=False,
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": "Say yes or no."},
    )


class _AnswersForm(forms.Form):
    """A yes or a no for each purpose, or neither."""

    def add_question(self, purpose: ConsentPurpose, label: str, initial: str = "") -> None:
        self.fields[purpose] = _choice(label, initial)

    @property
    def answers(self) -> dict[ConsentPurpose, Answer]:
        return {
            purpose: Answer.now(purpose, given=said == "yes")
            for purpose in ConsentPurpose
            if (said := self.cleaned_data.get(purpose))
        }


class ConsentForm(_AnswersForm):
    """What somebody says themselves, each answer with the number of the text that was read."""

    def __init__(self, questions: Questions, child: Child, data: Any = None) -> None:
        super().__init__(data)
        self._child = child
        for each in questions.all:
            self.add_question(
                each.purpose, each.text.question.format(name=child.given_name), _before(each)
            )

    def clean(self) -> dict[str, Any]:
        for purpose in ConsentPurpose:
            if self.cleaned_data.get(purpose) and not self._was_read(purpose):
                self.add_error(purpose, CHANGED_MEANWHILE)
        return self.cleaned_data

    def _was_read(self, purpose: ConsentPurpose) -> bool:
        return whole_number(self.data.get(version_field(purpose))) == TEXTS[purpose].version

    def rows(self, questions: Questions) -> list["ConsentRow"]:
        return [ConsentRow(each, self._child.given_name) for each in questions.all]


@dataclass(frozen=True)
class ConsentRow:
    """A question with its text in the child's name, and how its field is drawn."""

    question: Question
    name: str

    @property
    def purpose(self) -> str:
        return self.question.text.purpose.format(name=self.name)

    @property
    def without(self) -> str:
        return self.question.text.without.format(name=self.name)

    @property
    def version_field(self) -> str:
        return version_field(self.question.purpose)

    @property
    def helper(self) -> Any:
        return form_helper(Field(self.question.purpose, wrapper_class="scale"))


def version_field(purpose: ConsentPurpose) -> str:
    """Which carries the number of the text that is read."""
    return f"{purpose}_text"


def _before(question: Question) -> str:
    """An answer to another text is not put into anybody's mouth."""
    if question.own is None or question.has_changed:
        return ""
    return "yes" if question.own.given else "no"


class PaperForm(_AnswersForm):
    """What somebody has signed, written down by a coach."""

    person: Any = forms.ModelChoiceField(
        label="Who signed",
        queryset=User.objects.none(),
        empty_label="choose",
        error_messages={
            "required": "Choose who signed.",
            "invalid_choice": "This person does not answer for this child.",
        },
    )
    signed_on = PlainDateField(label="Signed on", missing="Give the day on the paper.")

    def __init__(self, child: Child, questions: Questions, data: Any = None) -> None:
        super().__init__(data)
        self._child = child
        answering = User.objects.filter(pk__in=[each.pk for each in questions.people])
        self.fields["person"].queryset = answering  # type: ignore[attr-defined]
        for each in questions.all:
            question = each.text.question.format(name=child.given_name)
            self.add_question(each.purpose, f"{each.text.title}: “{question}”")
        choices = [Field(each.purpose, wrapper_class="scale") for each in questions.all]
        self.helper = form_helper("person", "signed_on", *choices)

    def clean_signed_on(self) -> dt.date:
        day: dt.date = self.cleaned_data["signed_on"]
        today = timezone.localdate()
        if day > today:
            raise ValidationError("This day has not come yet.", code="future")
        if day < today - LONGEST_AGO:
            raise ValidationError("A paper holds five years here. Ask anew.", code="old")
        return day

    def clean(self) -> dict[str, Any]:
        if not self.errors and not self.answers:
            self.add_error("person", "Say what the paper says: yes or no, of at least one.")
        return self.cleaned_data

    def record(self, by: User, now: dt.datetime) -> list[Consent] | None:
        """None, with the error at the field, where the person has answered since."""
        said: Mapping[str, Any] = self.cleaned_data
        try:
            return answer_on_paper(
                self._child, said["person"], self.answers, said["signed_on"], by, now
            )
        except ValidationError as error:
            self.add_error("signed_on", ValidationError(error.messages))
            return None
