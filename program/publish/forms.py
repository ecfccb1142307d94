from collections.abc import Mapping, Sequence
from typing import Any, Final

from django import forms

from library.models import Exercise
from library.shared.forms import form_helper
from library.shared.reasons import (
    LONGEST_REASON,
    NO_REASON,
    NO_WORDS,
    ReasonField,
    is_in_words,
)
from program.common.fields import DayField
from program.engine.checks import CheckResult
from program.models import Lasts
from program.models.sessions import LONGEST_WORD_ON_IT
from program.publish.open_choices import Seen
from program.publish.own_choices import OwnChoice

LEAVE_OUT: Final = "leave-out"
THIS_SESSION: Final = "session"
ONLY_HERE: Final = (THIS_SESSION, "this session only")
NEAR_AT_ONCE: Final = 4

NOT_NOW: Final = "That one is not allowed for this child now. Choose another."


class ReasonWhenStoppedForm(forms.Form):
    """A form with a choice for a child. Only when a check has said stop to it, it asks why."""

    stops: Sequence[CheckResult] = ()

    @property
    def because(self) -> str:
        """The reason as far as it is one; whether one is needed is asked when it is kept."""
        sent = str(self.data.get("because", "")).strip()
        return sent if is_in_words(sent) and len(sent) <= LONGEST_REASON else ""

    def ask_why(self, stops: Sequence[CheckResult]) -> None:
        """Show what was said, and a field for the reason; what was typed there stays."""
        self.stops = stops
        self.fields["because"] = ReasonField(
            label="Why this child gets it nevertheless",
            help_text="Such as: landed safely at the venue on Monday, I watched. It is kept with "
            "the choice, with your name.",
        )
        self.helper = form_helper(*self.fields)
        if "because" in self.data:
            self.add_error("because", NO_WORDS if self.data["because"].strip() else NO_REASON)


class DecisionForm(ReasonWhenStoppedForm):
    """What one child gets in one slot, by hand; only what breaks no limit is offered. `near` are
    the few that are shown at once."""

    choice = forms.ChoiceField()
    everybody = forms.BooleanField(required=False)
    lasts = forms.ChoiceField(
        choices=[
            *((each.value, each.label) for each in (Lasts.KIT, Lasts.BLOCK, Lasts.DAY)),
            ONLY_HERE,
        ],
        required=False,
        label="How long?",
        widget=forms.RadioSelect,
    )
    until = DayField(required=False)
    note = forms.CharField(
        label="A word to the family",
        max_length=200,
        required=False,
        help_text="Shown beside the exercise. You can leave it empty.",
    )

    def __init__(self, choices: Sequence[OwnChoice], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.suitable, self.risky = by_risk(choices)
        self.fields["choice"] = forms.ChoiceField(
            choices=[
                *((each.slug, each.name) for each in (*self.suitable, *self.risky)),
                (LEAVE_OUT, "Leave it out"),
            ],
            error_messages={
                "required": "Choose an exercise, or leave it out.",
                "invalid_choice": NOT_NOW,
            },
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("lasts") == Lasts.DAY and not data.get("until") and "until" not in self.errors:
            self.add_error("until", "Say until which day.")
        return data

    @property
    def near(self) -> list[OwnChoice]:
        return self.suitable[:NEAR_AT_ONCE]

    @property
    def further(self) -> list[OwnChoice]:
        return self.suitable[NEAR_AT_ONCE:]

    @property
    def picked(self) -> str:
        """What is chosen now: sent, or standing before."""
        return str(self["choice"].value() or "")

    def chosen(self) -> Exercise | None:
        """The exercise, or None to leave the slot out."""
        choice = self.cleaned_data["choice"]
        return None if choice == LEAVE_OUT else Exercise.objects.get(slug=choice)

    @property
    def how_long(self) -> Lasts | None:
        return how_long(self.cleaned_data["lasts"])


class GroupForm(forms.Form):
    """One answer to all places that wait for the same reason."""

    group = forms.CharField(max_length=500)
    do = forms.ChoiceField(
        choices=[(each, each) for each in ("instead", "leave-out", "ask")],
        error_messages={"required": "Choose an answer.", "invalid_choice": "Choose an answer."},
    )
    lasts = forms.ChoiceField(choices=[*Lasts.choices, ONLY_HERE])

    @property
    def seen(self) -> list[Seen]:
        sent = self.data.getlist("place") if hasattr(self.data, "getlist") else []
        return [found for value in sent if (found := Seen.parse(value))]

    @property
    def how_long(self) -> Lasts | None:
        return how_long(self.cleaned_data["lasts"])


def how_long(said: str) -> Lasts | None:
    """None for this session alone."""
    return None if said in ("", THIS_SESSION) else Lasts(said)


def by_risk(choices: Sequence[OwnChoice]) -> tuple[list[OwnChoice], list[OwnChoice]]:
    """Of those that break no limit: what suits the child, and what has a risk."""
    allowed = [each for each in choices if each.is_allowed]
    suitable = [each for each in allowed if not each.risk]
    return suitable, [each for each in allowed if each.risk]


type Choices = list[tuple[str, str]]


def offered(choices: Sequence[OwnChoice]) -> tuple[Choices, Choices, Choices]:
    """What may be chosen, for a list: what suits the child on the pathway and elsewhere, and what
    has a risk, with it in words."""
    suitable, risky = by_risk(choices)
    return (
        [(each.slug, each.name) for each in suitable if each.is_on_pathway],
        [(each.slug, each.name) for each in suitable if not each.is_on_pathway],
        [(each.slug, f"{each.name} ({each.why_in_short})") for each in risky],
    )


class CallOffForm(forms.Form):
    because = forms.CharField(
        label="Why, in a few words to the families",
        max_length=LONGEST_WORD_ON_IT,
        required=False,
        help_text="Such as: the hall is closed. Every family of the cohort reads it, so nothing "
        "about a child. You can leave it empty.",
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="call-off-%s")
        self.helper = form_helper("because")


class MoveForm(forms.Form):
    """Another day; only when a check has said stop to it, it asks why."""

    day = DayField(label="Takes place on")

    def __init__(self, data: Any = None, initial: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, initial=dict(initial or {}), auto_id="move-%s")
        self.helper = form_helper("day", submit="Move it")
        if "because" in self.data:
            self.ask_why()

    def ask_why(self) -> None:
        """Show a field for the reason; what was typed there stays."""
        self.fields["because"] = ReasonField(
            label="Why it goes out nevertheless",
            help_text="It is kept with the session, with your name.",
        )
        self.helper = form_helper("day", "because", submit="Move it with this reason")


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
