"""The forms of breaks, and of what becomes of the sessions in one."""

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from crispy_forms.bootstrap import InlineRadios
from crispy_forms.layout import Div
from django import forms
from django.core.exceptions import ValidationError

from athletes.models import Cohort
from library.shared.dates import short_weekday_and_date
from library.shared.forms import form_helper
from program.blocks.clear_break import WAYS
from program.common.fields import DayField
from program.engine.weeks import A_WEEK, MOST_WEEKS
from program.engine.wording import plural
from program.models import Break, Session

if TYPE_CHECKING:
    from athletes.models import User


CALL_OFF: Final = "call_off"
LEAVE: Final = "leave"


class BreakForm(forms.ModelForm[Break]):
    """A break. Where sessions are published on its days, it asks what becomes of them."""

    first = DayField(label="First day")
    last = DayField(label="Last day")

    class Meta:
        model = Break
        fields = ["name", "first", "last", "cohort"]
        labels = {"cohort": "For"}
        help_texts = {"name": "Such as autumn holidays, or tournament in the north."}

    def __init__(self, user: "User", *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.auto_id, self.user = "break-%s", user
        cohort: Any = self.fields["cohort"]
        cohort.queryset = Cohort.objects.visible_to(user)
        cohort.required = not user.is_head_coach
        cohort.empty_label = "every cohort" if user.is_head_coach else "choose"
        cohort.error_messages |= {
            "required": "Choose a cohort. The head coach sets what is for every cohort.",
            "invalid_choice": "Choose one of your cohorts.",
        }
        days = Div("first", "last", css_class="row")
        self.helper = form_helper("name", days, "cohort", submit="Add it")

    def ask_of(self, published: Sequence[Session]) -> None:
        """Ask what becomes of these, which are published on its days."""
        names = ", ".join(f"{each} of {short_weekday_and_date(each.date)}" for each in published)
        self.fields["sessions"] = forms.ChoiceField(
            label=f"{plural(len(published), 'session is', 'sessions are')} published on these days",
            help_text=f"{names}.",
            choices=[
                (CALL_OFF, "call off all of them, and tell the families"),
                (LEAVE, "leave them: they take place"),
            ],
            widget=forms.RadioSelect,
            error_messages={"required": "Say what becomes of the sessions."},
        )
        days = Div("first", "last", css_class="row")
        self.helper = form_helper("name", days, "cohort", "sessions", submit="Add it")
        self.full_clean()

    def published(self) -> list[Session]:
        """What is published on the days of a valid break, and takes place; those that this person
        may call off."""
        away = self.instance
        found = Session.objects.visible_to(self.user).taking_place()
        found = found.filter(published_at__isnull=False, date__range=(away.first, away.last))
        if away.cohort_id:
            found = found.filter(block__cohort=away.cohort_id)
        return list(found.select_related("block__cohort").order_by("pk"))

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
        self.helper = form_helper(InlineRadios("way"))
