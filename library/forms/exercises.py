"""Writing what an exercise says: one form, with rows for its faults and its needs."""

from collections.abc import Iterable, Mapping
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.forms import BaseFormSet, formset_factory
from django.http import QueryDict

from library.body import Region
from library.forms.items import by_kind
from library.forms.tempo import TempoField
from library.landing import AsWritten, Unsaid, unsaid
from library.models import Exercise, ExerciseRevision, Item, Measure
from library.models.exercises import LONGEST_OTHER_NAME, MOST_OTHER_NAMES
from library.revisions import Content, NeedContent, begin, kept_showing
from library.shared.reasons import NO_WORDS, is_in_words

CUES, FAULTS, NEEDS = 4, 4, 5
LOADS, MOVES = "loads", "moves"
PARTS_OF_REGION = [("", "rests"), (MOVES, "moves or steadies"), (LOADS, "carries load")]
ROWS = {"rows": 3}
SAME_NAME = "There is an exercise of this name already."
TO_SAY = {
    Unsaid.CONTACTS: (
        "contacts",
        "Jumps, landings and skips have some: say how many, or why nothing lands.",
    ),
    Unsaid.CLASS: ("contact_class", "Say how hard its landings are."),
    Unsaid.ANKLE: (f"region_{Region.ANKLE}", "A landing loads it."),
    Unsaid.KNEE: (f"region_{Region.KNEE}", "A landing loads it."),
}
NO_CONTACTS = "It has no ground contacts: leave this empty."
BOTH = "It has ground contacts: clear them, or the reason."
NO_FLOOR = "Say on what floor it is done, in a row of its own."
TO_WRITE = ("name", "plain", "setup", "cues", "feel")
"""What makes an exercise another one than that which it was begun from: six fields of the form,
as it shows two cues first."""
A_FLOOR = "a floor to land on"


class OtherNamesField(forms.CharField):
    """Names between commas; said twice, in whichever letters, a name counts once."""

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> Any:
        names: dict[str, str] = {}
        for name in str(super().clean(value)).split(","):
            if one := " ".join(name.split()):
                names.setdefault(one.casefold(), one)
        if len(names) > MOST_OTHER_NAMES:
            raise ValidationError(f"{MOST_OTHER_NAMES} other names at most.")
        if too_long := [name for name in names.values() if len(name) > LONGEST_OTHER_NAME]:
            raise ValidationError(f"“{too_long[0]}” is longer than {LONGEST_OTHER_NAME} letters.")
        return list(names.values())


class ExerciseForm(forms.ModelForm[ExerciseRevision]):
    """Everything but faults and needs. `base` is the revision that the edit began with; `unsaid`,
    once it was cleaned, what it must say of its landings and does not, a floor among it."""

    unsaid: tuple[Unsaid, ...] = ()

    base = forms.IntegerField(required=False, widget=forms.HiddenInput)
    other_names = OtherNamesField(
        label="Also called",
        required=False,
        help_text="Optional. What else coaches call it or look for it by, in any language, with "
        "commas between. The search finds it by each.",
    )

    class Meta:
        model = ExerciseRevision
        fields = [
            "name",
            "other_names",
            "pattern",
            "plain",
            "sides",
            "measure",
            "usual",
            "low",
            "high",
            "tempo",
            "contacts",
            "contact_class",
            "no_landing_because",
            "minimum_age",
            "watch",
            "setup",
            "setup_seconds",
            "feel",
            "stop",
            "caution",
        ]
        field_classes = {"tempo": TempoField}
        labels = {
            "plain": "In one sentence",
            "measure": "Measured in",
            "usual": "Usual dose",
            "low": "Least",
            "high": "Most",
            "contacts": "Ground contacts",
            "contact_class": "How hard they are",
            "no_landing_because": "No landing, because",
            "minimum_age": "From age",
            "watch": "A grown-up watches",
            "setup": "Set-up",
            "setup_seconds": "Seconds to set up",
            "feel": "What it should feel like",
            "stop": "When to stop",
        }
        help_texts = {
            "plain": "What the child does, as a parent understands it.",
            "sides": "Each side: the dose is per side, one after the other. Alternating: the dose "
            "is the total, and sides swap every repetition or step.",
            "usual": "In repetitions, seconds or metres.",
            "low": "Less makes no sense.",
            "high": "More is too much for a child.",
            "tempo": "Optional. Seconds of lowering-pause-lifting-pause, 3-1-1-0; X is fast.",
            "contacts": "Landings in one repetition, second or metre; on two feet it is one.",
            "contact_class": "Low: skipping, small jumps on the spot. Medium: jumps for height or "
            "distance, or several in a row. High: bounds, tuck jumps. Of several the hardest.",
            "no_landing_because": "Only where nothing lands: “the toes stay on the floor”.",
            "minimum_age": "In years.",
            "watch": "Landings, heights, hanging.",
            "setup": "How to get ready: where, how far, how high.",
            "setup_seconds": "To fetch and place what it needs and come back; 0 to 600. It counts "
            "in a session’s minutes. Empty is 0: nothing to set up.",
            "stop": "Pain is always a stop; say what else is.",
            "caution": "Optional. What is particular to this exercise.",
        }
        widgets = {
            "plain": forms.Textarea(attrs={"rows": 2}),
            "setup": forms.Textarea(attrs=ROWS),
            "feel": forms.Textarea(attrs={"rows": 2}),
            "stop": forms.Textarea(attrs={"rows": 2}),
            "caution": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, exercise: Exercise | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.exercise = exercise
        self.fields["setup_seconds"].required = False
        for number in range(1, CUES + 1):
            self.fields[f"cue_{number}"] = forms.CharField(
                label=f"Cue {number}", max_length=60, required=number == 1
            )
        for region in Region:
            self.fields[f"region_{region}"] = forms.ChoiceField(
                label=region.label.capitalize(), choices=PARTS_OF_REGION, required=False
            )

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"]).strip()
        others = Exercise.objects.filter(current__name__iexact=name)
        if self.exercise:
            others = others.exclude(pk=self.exercise.pk)
        if others.exists():
            raise ValidationError(SAME_NAME)
        return name

    def clean_no_landing_because(self) -> str:
        reason = str(self.cleaned_data["no_landing_because"])
        if reason and not is_in_words(reason):
            raise ValidationError(NO_WORDS)
        return reason

    def clean_setup_seconds(self) -> int:
        return self.cleaned_data["setup_seconds"] or 0

    def clean(self) -> dict[str, Any]:
        data = cast("dict[str, Any]", super().clean())
        low, usual, high = (data.get(name) for name in ("low", "usual", "high"))
        if usual is not None and low is not None and not 1 <= low <= usual:
            self.add_error("low", "The least is at least 1 and no more than the usual dose.")
        if usual is not None and high is not None and not usual <= high <= 600:
            self.add_error("high", "The most is no less than the usual dose, and 600 at most.")
        if data.get("tempo") and data.get("measure") not in {None, Measure.REPETITIONS}:
            self.add_error("tempo", "A tempo times repetitions; leave it empty here.")
        if not 4 <= data.get("minimum_age", 4) <= 18:
            self.add_error("minimum_age", "An age from 4 to 18.")
        if not self._regions(LOADS):
            self.add_error(None, "Say which part of the body carries the load.")
        if data.get("contacts") and data.get("no_landing_because"):
            self.add_error("no_landing_because", BOTH)
        self.unsaid = self._unsaid(data)
        lands_not = data.get("contacts") == 0 and Unsaid.CONTACTS not in self.unsaid
        if lands_not and data.get("contact_class"):
            self.add_error("contact_class", NO_CONTACTS)
        for field, message in [TO_SAY[each] for each in self.unsaid if each in TO_SAY]:
            self.add_error(field, message)
        return data

    def _unsaid(self, data: Mapping[str, Any]) -> tuple[Unsaid, ...]:
        if not data.keys() >= {*AsWritten._fields}:
            return ()
        said = AsWritten(*(data[name] for name in AsWritten._fields))
        return unsaid(said, self._regions(LOADS), names_a_floor=False)

    def content(self, faults: list[dict[str, str]], needs: tuple[NeedContent, ...]) -> Content:
        """What the valid form says."""
        data = self.cleaned_data
        return Content(
            {
                **{name: data[name] for name in self._meta.fields or ()},
                "cues": [data[f"cue_{n}"] for n in range(1, CUES + 1) if data[f"cue_{n}"]],
                "faults": faults,
                LOADS: self._regions(LOADS),
                MOVES: self._regions(MOVES),
                **kept_showing(self.exercise.current if self.exercise else None),
            },
            needs,
        )

    def _regions(self, part: str) -> list[str]:
        return [
            region.value for region in Region if self.cleaned_data.get(f"region_{region}") == part
        ]


class RowForm(forms.Form):
    """A row that says all of its fields, or nothing."""

    unfinished: Mapping[str, str] = {}

    def clean(self) -> dict[str, Any]:
        data = cast("dict[str, Any]", super().clean())
        if any(data.values()):
            for name, message in self.unfinished.items():
                if not data.get(name) and name not in self.errors:
                    self.add_error(name, message)
        return data


class FaultForm(RowForm):
    see = forms.CharField(label="You see", max_length=80, required=False)
    say = forms.CharField(label="You say", max_length=80, required=False)

    unfinished = {
        "see": "Say what can be seen, or clear the row.",
        "say": "Say what helps, or clear the row.",
    }


class NeedForm(RowForm):
    what = forms.CharField(label="It needs", max_length=100, required=False)
    items = forms.MultipleChoiceField(
        label="Any one of these meets it", required=False, widget=forms.CheckboxSelectMultiple
    )

    unfinished = {
        "what": "Say what is needed, or untick the items.",
        "items": "Tick at least one item that meets it.",
    }

    def __init__(self, *args: Any, items: Iterable[Item], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        items = list(items)
        self.fields["items"].choices = by_kind(items)  # type: ignore[attr-defined]
        self.names = {item.slug: item.name for item in items}

    @property
    def chosen(self) -> str:
        """The names of the ticked items, for the line that opens the list of all."""
        return ", ".join(
            self.names[slug] for slug in self["items"].value() or () if slug in self.names
        )


class BaseNeedRows(BaseFormSet[NeedForm]):
    """The needs; `wants_a_floor` asks for one that nothing but floors meets."""

    wants_a_floor = False
    floors: frozenset[str] = frozenset()

    def clean(self) -> None:
        if self.wants_a_floor and not self.names_a_floor:
            raise ValidationError(NO_FLOOR)

    @property
    def names_a_floor(self) -> bool:
        rows = (frozenset(row.cleaned_data.get("items", ())) for row in self.forms)
        return any(items and items <= self.floors for items in rows)


FaultRows = formset_factory(FaultForm, extra=FAULTS, max_num=FAULTS, absolute_max=FAULTS)
NeedRows = formset_factory(
    NeedForm, formset=BaseNeedRows, extra=NEEDS, max_num=NEEDS, absolute_max=NEEDS
)


class ExerciseEdit:
    """The form and its rows, filled from a revision or from what was sent.

    A new exercise may begin from another one, `like`: all is taken over but what is `TO_WRITE`.
    """

    def __init__(
        self,
        data: QueryDict | None,
        exercise: Exercise | None = None,
        like: ExerciseRevision | None = None,
    ) -> None:
        self.exercise = exercise
        self.revision = exercise.current if exercise else None
        self.like = like
        items = list(Item.objects.all())
        self.items = {item.slug: item.name for item in items}
        floors = frozenset(item.slug for item in items if item.kind == Item.Kind.FLOOR)
        content = _content_to_begin_with(self.revision, like, floors)
        self.form = ExerciseForm(data, exercise=exercise, initial=_initial(content, self.revision))
        self.faults: BaseFormSet[FaultForm] = FaultRows(
            data, prefix="faults", initial=content.fields["faults"] if content else None
        )
        needs = NeedRows(
            data,
            prefix="needs",
            initial=[{"what": need.what, "items": sorted(need.items)} for need in content.needs]
            if content
            else None,
            form_kwargs={"items": items},
        )
        self.needs = cast("BaseNeedRows", needs)
        self.needs.floors = floors

    @property
    def base(self) -> int | None:
        """The number of the revision that this edit began with."""
        number: int | None = self.form.cleaned_data["base"]
        return number

    @property
    def regions(self) -> list[forms.BoundField]:
        return [self.form[f"region_{region}"] for region in Region]

    @property
    def has_errors(self) -> bool:
        return any(
            [self.form.errors, self.faults.total_error_count(), self.needs.total_error_count()]
        )

    def is_valid(self) -> bool:
        is_said = self.form.is_valid()
        self.needs.wants_a_floor = self._wants_a_floor()
        return all([is_said, self.faults.is_valid(), self.needs.is_valid()])

    def _wants_a_floor(self) -> bool:
        """Not of an exercise that lands in order and has always gone without: naming one takes it
        from whoever has not said what floor there is, which is no matter of another cue."""
        if Unsaid.FLOOR not in self.form.unsaid:
            return False
        before = self.revision
        goes_without = before and before.lands and not before.unsaid and not before.names_a_floor
        return not goes_without

    def content(self) -> Content:
        return self.form.content(
            [dict(row) for row in _said(self.faults)],
            tuple(NeedContent(row["what"], frozenset(row["items"])) for row in _said(self.needs)),
        )

    def begin(self, by: str) -> Exercise | None:
        """The new exercise; None, with an error on the form, where the same was just begun."""
        try:
            return begin(self.content(), by=by)
        except IntegrityError:
            self.form.add_error("name", SAME_NAME)
            return None

    def rebase(self, current: ExerciseRevision) -> None:
        """Keep what was typed, and let the next save follow the revision that is current now."""
        data = cast("QueryDict", self.form.data).copy()
        data["base"] = str(current.number)
        self.form.data = data


def _content_to_begin_with(
    revision: ExerciseRevision | None, like: ExerciseRevision | None, floors: frozenset[str]
) -> Content | None:
    if revision:
        return Content.of(revision)
    if like is None:
        return None
    content = Content.of(like)
    needs = content.needs
    if like.lands and not like.names_a_floor and floors:
        needs = (*needs, NeedContent(A_FLOOR, floors))[:NEEDS]
    left = {name: [] if name == "cues" else "" for name in TO_WRITE}
    return Content({**content.fields, **left, "other_names": []}, needs)


def _initial(content: Content | None, revision: ExerciseRevision | None) -> dict[str, Any]:
    if content is None:
        return {}
    cues = {f"cue_{number}": cue for number, cue in enumerate(content.fields["cues"], start=1)}
    regions = {
        f"region_{region}": part for part in (LOADS, MOVES) for region in content.fields[part]
    }
    return {**content.fields, **cues, **regions, "base": revision.number if revision else None}


def _said(rows: BaseFormSet[Any]) -> list[dict[str, Any]]:
    """The rows that are not empty."""
    return [row.cleaned_data for row in rows if any(row.cleaned_data.values())]
