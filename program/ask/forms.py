"""A question about a session, in the words of whoever asks, and the coach's answer to it."""

import datetime as dt
from typing import TYPE_CHECKING, Any, Final, cast

from django import forms
from django.core.exceptions import ValidationError

from athletes.models import ConsentPurpose
from library.models import Exercise
from library.shared.forms import form_helper
from library.shared.uploads.fields import UploadField
from library.shared.uploads.kinds import MOST_SECONDS
from program.ask.answering import Reply, refuse_unfit
from program.models import AssignedSession, Question, UploadAttempt
from program.models.questions import LONGEST_ANSWER, MOST_QUESTIONS_A_DAY
from program.models.upload_attempts import MOST_A_DAY
from program.publish.forms import NOT_NOW, ReasonWhenStoppedForm, offered
from program.publish.own_choices import OwnChoice

if TYPE_CHECKING:
    from athletes.models import User

TOO_MANY_UPLOADS: Final = (
    f"That makes more than {MOST_A_DAY} photos and clips in a day. Ask without one, or tomorrow."
)
TOO_MANY_QUESTIONS: Final = (
    f"That makes more than {MOST_QUESTIONS_A_DAY} questions in a day. Ask this one tomorrow; if it "
    "cannot wait, talk to the coach."
)
NOT_AGREED: Final = (
    "Photos and clips are not agreed to, so nothing was sent. Ask in words alone, or agree first."
)
AGAIN: Final = "Choose the photo or clip once more: it was not kept."


class QuestionForm(forms.Form):
    slot = forms.ChoiceField(
        label="About",
        required=False,
        error_messages={"invalid_choice": "Choose one of this session’s exercises."},
    )
    text = forms.CharField(
        label="Your question",
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={
            "required": "Write what you would like to know.",
            "max_length": "At most 600 characters.",
        },
    )
    upload = UploadField(
        label="A photo or a short clip, if it helps",
        required=False,
        help_text=f"One photo, or a clip of up to {MOST_SECONDS} seconds; its sound and where it "
        "was taken are left out. Only those who read the question see it.",
    )

    def __init__(self, session: AssignedSession, by: "User", *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._session, self._by = session, by
        self._slots = {str(slot.pk): slot for slot in session.slots.all()}
        choices = [(key, str(slot)) for key, slot in self._slots.items()]
        self.fields["slot"].choices = [("", "the whole session"), *choices]  # type: ignore[attr-defined]
        self.takes_uploads = session.agreements.agree_to(ConsentPurpose.PHOTOS)
        if not self.takes_uploads:
            del self.fields["upload"]
        if by.is_family:
            self.fields["text"].help_text = f"Up to {MOST_QUESTIONS_A_DAY} questions a day."
        self.helper = form_helper()

    def count_upload(self, now: dt.datetime) -> None:
        """Count what was sent, before it is read; one too many is refused unread."""
        if not self.takes_uploads:
            return
        if self.files.getlist("upload") and not UploadAttempt.objects.begin(self._by, now):
            self._upload.refusal = TOO_MANY_UPLOADS

    @property
    def _upload(self) -> UploadField:
        return cast("UploadField", self.fields["upload"])

    def clean(self) -> None:
        if self.files and not self.takes_uploads:
            self.add_error("text", ValidationError(NOT_AGREED, code="not agreed"))
        if self.errors and self.cleaned_data.get("upload"):
            self.add_error("upload", ValidationError(AGAIN, code="again"))

    def refuse_a_flood(self, now: dt.datetime) -> bool:
        """Whether this member of a family has asked too often in the last day; says so at the
        words. Call within the transaction that would ask."""
        if not Question.objects.are_enough_for_a_day(self._by, now):
            return False
        self.add_error("text", TOO_MANY_QUESTIONS)
        return True

    def save(self, now: dt.datetime, upload: str = "") -> Question:
        """`upload` is the name under which what was chosen is kept."""
        slot = self._slots.get(self.cleaned_data["slot"])
        return Question.objects.create(
            child=self._session.child,
            assigned_session=self._session,
            exercise_id=slot.revision.exercise_id if slot else None,
            text=self.cleaned_data["text"],
            upload=upload,
            asked_by=self._by,
            asked_at=now,
        )


class AnswerForm(ReasonWhenStoppedForm):
    """`choices` are what the child may do instead; none where nothing can be swapped."""

    words = forms.CharField(
        label="Your answer",
        help_text="Every guardian and every coach of the child reads it.",
        max_length=LONGEST_ANSWER,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={
            "required": "Write an answer.",
            "max_length": f"At most {LONGEST_ANSWER} letters.",
        },
    )
    swap = forms.ChoiceField(
        required=False,
        error_messages={"invalid_choice": NOT_NOW},
    )
    keep = forms.BooleanField(required=False)

    def __init__(self, question: Question, choices: list[OwnChoice], *args: Any, **more: Any):
        super().__init__(*args, **more)
        self._question = question
        about = question.about
        if choices:
            self.fields["swap"] = forms.ChoiceField(
                label=f"Instead of {about}, wherever it is not started",
                required=False,
                choices=_swaps(choices, about),
                error_messages=self.fields["swap"].error_messages,
            )
        else:
            del self.fields["swap"]
        if question.exercise_id:
            self.fields["keep"].label = f"Also keep it as a note on {about} for everybody"
            self.fields["keep"].help_text = "Every family with this exercise reads it. Name nobody."
        else:
            del self.fields["keep"]
        self.helper = form_helper(*self.fields)

    def clean(self) -> None:
        if self.is_valid_so_far():
            refuse_unfit(self._question, self._question.child, self.reply)

    def is_valid_so_far(self) -> bool:
        return not self.errors

    @property
    def reply(self) -> Reply:
        data = self.cleaned_data
        swap = data.get("swap")
        return Reply(
            data["words"],
            data.get("keep", False),
            Exercise.objects.get(slug=swap) if swap else None,
            self.because,
        )


def _swaps(choices: list[OwnChoice], about: str) -> list[Any]:
    near, far, risky = offered(choices)
    return [
        ("", f"No change: {about} stays"),
        ("Suits this child, nearest first", near),
        ("Suits this child, another kind of exercise", far),
        ("With a risk", risky),
    ]
