"""The forms of templates, breaks and of taking a block away. Refusals are one plain sentence."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from django import forms
from django.utils import timezone

from athletes.models import Cohort
from library.shared.dates import weekday_and_date
from library.shared.forms import form_helper
from program.blocks.saved_templates import LEFT_OUT, Instead, Missing
from program.common.fields import DayField
from program.models import Block, Session, TemplateKind

if TYPE_CHECKING:
    from athletes.models import User

LEAVE_OUT = "leave-out"


class KeepForm(forms.Form):
    name = forms.CharField(
        label="Name",
        max_length=80,
        error_messages={"required": "Give it a name to find it by."},
    )
    helper = form_helper("name", submit="Keep it")


class RenameForm(KeepForm):
    helper = form_helper("name", submit="Give it this name")


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
        self.helper = form_helper(*rows, *names, submit="Begin from it")

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
        data = self.cleaned_data
        block, day = data.get("block"), data.get("date")
        if block and day and not block.holds(day):
            self.add_error(
                "date",
                f"The block runs from {weekday_and_date(block.starts_on)} to "
                f"{weekday_and_date(block.ends_on)}.",
            )
        return data

    @property
    def instead(self) -> Instead:
        data = {one.slug: self.cleaned_data[f"instead-{one.slug}"] for one in self.missing}
        return {slug: LEFT_OUT if to == LEAVE_OUT else to for slug, to in data.items()}


class _Named(forms.ModelChoiceField[Any]):
    """A block or a session, named with its cohort and its day."""

    def label_from_instance(self, obj: Any) -> str:
        if isinstance(obj, Session):
            return f"{obj.block.cohort} · {obj.name}, {weekday_and_date(obj.date)}"
        return f"{obj.cohort} · {obj.name}"
