from typing import Any, Final

from django import forms

from library.models import Exercise
from library.shared.forms import form_helper
from program.checks.forms import ReasonField
from program.engine.fit.options import Option
from program.engine.fit.reasons import for_coach

LEAVE_OUT: Final = "leave-out"


class DecisionForm(forms.Form):
    """What one child gets in one slot, by hand; only what breaks no limit is offered."""

    choice = forms.ChoiceField()
    note = forms.CharField(
        label="A word to the family",
        max_length=200,
        required=False,
        help_text="Shown beside the exercise. You can leave it empty.",
    )

    def __init__(self, options: tuple[Option, ...], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        near = [choice_of(each) for each in options if each.is_on_pathway and not each.broken]
        far = [choice_of(each) for each in options if not each.is_on_pathway and not each.broken]
        self.fields["choice"] = forms.ChoiceField(
            label="Give",
            choices=[
                ("", "Choose"),
                ("On this pathway, easy to hard", near),
                ("Leave out", [(LEAVE_OUT, "Nothing: leave this slot out")]),
                ("Anything else", far),
            ],
            error_messages={
                "required": "Choose an exercise, or leave the slot out.",
                "invalid_choice": "That one is not allowed for this child now. Choose another.",
            },
        )

    def chosen(self) -> Exercise | None:
        """The exercise, or None to leave the slot out."""
        choice = self.cleaned_data["choice"]
        return None if choice == LEAVE_OUT else Exercise.objects.get(slug=choice)


def choice_of(option: Option) -> tuple[str, str]:
    return option.exercise.slug, option.exercise.name


def in_the_way(options: tuple[Option, ...]) -> list[tuple[str, str]]:
    """What is on the pathway and not allowed: its name, and the first limit it breaks."""
    return [
        (each.exercise.name, for_coach(each.broken[0]))
        for each in options
        if each.is_on_pathway and each.broken
    ]


class ReasonForm(forms.Form):
    because = ReasonField(
        label="Why it goes out nevertheless",
        help_text="Such as: all of them landed safely at the venue on Monday, I watched. It is kept"
        " with the session, with your name.",
    )

    @property
    def because_written(self) -> str:
        """The reason as far as there is one; whether one is needed is asked at publishing."""
        return str(self.cleaned_data["because"]) if self.is_bound and self.is_valid() else ""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = form_helper("because", submit="Publish with this reason")
