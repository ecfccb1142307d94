"""The forms of templates, breaks and of taking a block away. Refusals are one plain sentence."""

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from crispy_forms.bootstrap import InlineRadios
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Layout, Submit
from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from athletes.models import Cohort
from program.blocks.clear_break import WAYS
from program.blocks.saved_templates import LEFT_OUT, Instead, Missing
from program.build.forms import DayField, day_in_words
from program.engine.weeks import A_WEEK, MOST_WEEKS
from program.models import Block, Break, Session, TemplateKind

if TYPE_CHECKING:
    from athletes.models import User

LEAVE_OUT = "leave-out"


def helper_of(*rows: Any, submit: str) -> FormHelper:
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    helper.layout = Layout(*rows, Div(Submit("", submit), css_class="form-actions"))
    return helper


class KeepForm(forms.Form):
    name = forms.CharField(
        label="Name",
        max_length=80,
        error_messages={"required": "Give it a name to find it by."},
    )
    helper = helper_of("name", submit="Keep it")


class RenameForm(KeepForm):
    helper = helper_of("name", submit="Give it this name")


class BeginForm(forms.Form):
    """Where to begin from a template, and what takes the place of each exercise it misses."""

    def __init__(
        self, kind: str, user: "User", missing: Sequence[Missing], *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "begin-%s"
        self.missing = missing
        rows = {
            TemplateKind.BLOCK: self._ask_for_block,
            TemplateKind.SESSION: self._ask_for_session,
            TemplateKind.PART: self._ask_for_part,
        }[TemplateKind(kind)](user)
        names = [self._ask_for_other(one) for one in missing]
        self.helper = helper_of(*rows, *names, submit="Begin from it")

    def _ask_for_block(self, user: "User") -> list[Any]:
        self.fields["cohort"] = forms.ModelChoiceField(
            Cohort.objects.visible_to(user),
            error_messages={"invalid_choice": "Choose one of your cohorts."},
        )
        self.fields["name"] = forms.CharField(label="Name of the block", max_length=80)
        self.fields["starts_on"] = DayField(label="First day")
        return ["cohort", "name", "starts_on"]

    def _ask_for_session(self, user: "User") -> list[Any]:
        self.fields["block"] = _Named(
            Block.objects.visible_to(user).select_related("cohort").order_by("-starts_on"),
            error_messages={"invalid_choice": "Choose one of your blocks."},
        )
        self.fields["date"] = DayField(label="Day")
        return ["block", "date"]

    def _ask_for_part(self, user: "User") -> list[Any]:
        running = Session.objects.visible_to(user).filter(block__ends_on__gte=timezone.localdate())
        self.fields["session"] = _Named(
            running.select_related("block__cohort").order_by("date", "name"),
            error_messages={"invalid_choice": "Choose one of your sessions."},
        )
        return ["session"]

    def _ask_for_other(self, one: Missing) -> str:
        name = f"instead-{one.slug}"
        offered = [(exercise.slug, exercise.name) for exercise in one.offered]
        self.fields[name] = forms.ChoiceField(
            label=f"{one.name} is not published any more. In its place",
            choices=[("", "choose"), *offered, (LEAVE_OUT, "nothing: leave it out")],
            error_messages={"required": "Choose what takes its place, or leave it out."},
        )
        return name

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        block, day = said.get("block"), said.get("date")
        if block and day and not block.holds(day):
            self.add_error(
                "date",
                f"The block runs from {day_in_words(block.starts_on)} to "
                f"{day_in_words(block.ends_on)}.",
            )
        return said

    @property
    def instead(self) -> Instead:
        said = {one.slug: self.cleaned_data[f"instead-{one.slug}"] for one in self.missing}
        return {slug: LEFT_OUT if to == LEAVE_OUT else to for slug, to in said.items()}


class _Named(forms.ModelChoiceField[Any]):
    """A block or a session, named with its cohort and its day."""

    def label_from_instance(self, obj: Any) -> str:
        if isinstance(obj, Session):
            return f"{obj.block.cohort} · {obj.name}, {day_in_words(obj.date)}"
        return f"{obj.cohort} · {obj.name}"


class BreakForm(forms.ModelForm[Break]):
    first = DayField(label="First day")
    last = DayField(label="Last day")

    class Meta:
        model = Break
        fields = ["name", "first", "last", "cohort"]
        labels = {"cohort": "For"}
        help_texts = {"name": "Such as autumn holidays, or tournament in the north."}

    def __init__(self, user: "User", *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id = "break-%s"
        cohort: Any = self.fields["cohort"]
        cohort.queryset = Cohort.objects.visible_to(user)
        cohort.required = not user.is_head_coach
        cohort.empty_label = "every cohort" if user.is_head_coach else "choose"
        cohort.error_messages |= {
            "required": "Choose a cohort. The head coach sets what is for every cohort.",
            "invalid_choice": "Choose one of your cohorts.",
        }
        days = Div("first", "last", css_class="row")
        self.helper = helper_of("name", days, "cohort", submit="Add it")

    def clean_last(self) -> dt.date:
        last: dt.date = self.cleaned_data["last"]
        first = self.cleaned_data.get("first")
        if first and last < first:
            raise ValidationError("A break cannot end before it starts.")
        if first and last > first + MOST_WEEKS * A_WEEK:
            raise ValidationError(f"A break lasts at most {MOST_WEEKS} weeks.")
        return last


class ClearForm(forms.Form):
    way = forms.ChoiceField(
        label="What to do with the sessions in it",
        choices=list(WAYS.items()),
        widget=forms.RadioSelect,
    )

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="clear-%s")
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout(InlineRadios("way"))
