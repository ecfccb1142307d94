"""Writing pathways. What would lead in a circle is refused in plain words, here and, for two people
at once, by the database."""

from collections.abc import Sequence
from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from library.graph import CycleError, PathwayGraph
from library.models import Exercise, ExerciseQuerySet, Lateral, Pathway, Step
from library.pathway_changes import add
from library.slugs import free_slug

READY = "Ready when "  # how each such sentence begins, and the field with it

# What the database refuses when somebody else was quicker, by the name of its constraint.
OVERTAKEN = {
    "step_closes_no_cycle": "Somebody has just changed this pathway, and now this would lead in a "
    "circle. Look at it once more.",
    "lateral_closes_no_cycle": "Somebody has just changed this pathway, and now one of these two "
    "is harder than the other. Look at it once more.",
    "step_once": "This step is there already.",
    "lateral_once": "These two are there already.",
}


SAME_NAME = "There is a pathway of this name already."


class PathwayForm(forms.ModelForm[Pathway]):
    class Meta:
        model = Pathway
        fields = ["name", "pattern", "about"]
        help_texts = {"about": "What it trains, and how it grows from its first exercise."}
        widgets = {"about": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            del self.fields["pattern"]

    def clean_name(self) -> str:
        name = str(self.cleaned_data["name"]).strip()
        if Pathway.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            raise ValidationError(SAME_NAME)
        return name

    def begin(self) -> Pathway | None:
        """The new pathway, its lasting address made from the name it begins with.

        None, with an error on the form, where the same was just begun.
        """
        self.instance.slug = free_slug(Pathway, self.instance.name)
        try:
            with transaction.atomic():
                return self.save()
        except IntegrityError:
            self.add_error("name", SAME_NAME)
            return None


def exercises_for(pathway: Pathway) -> ExerciseQuerySet:
    """What may be put on a pathway: everything of its pattern that is not retired."""
    return (
        Exercise.objects.with_current()
        .filter(current__pattern=pathway.pattern)
        .exclude(status=Exercise.Status.RETIRED)
        .order_by("current__name")
    )


class LinkForm(forms.Form):
    """What steps and laterals have in common: two exercises of the pathway's pattern."""

    ends: tuple[str, str]

    def __init__(self, data: Any, pathway: Pathway, exercises: Sequence[Exercise]) -> None:
        """`exercises` are those that may be linked; both lists offer them without asking again."""
        super().__init__(data)
        self.pathway = pathway
        for name in self.ends:
            field = cast("forms.ModelChoiceField[Exercise]", self.fields[name])
            field.queryset = exercises_for(pathway)
            field.choices = [("", "choose …"), *((each.pk, str(each)) for each in exercises)]

    def clean(self) -> dict[str, Any]:
        data = cast("dict[str, Any]", super().clean())
        one, other = (data.get(name) for name in self.ends)
        if one and one == other:
            self.add_error(self.ends[1], "Choose two different exercises.")
        elif one and other:
            self._refuse_circles(one, other)
        return data

    def add(self) -> bool:
        """Write the link; False, with an error on the form, where the database refuses it."""
        try:
            with transaction.atomic():
                add(self._link())
        except IntegrityError as error:
            name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", None)
            if name not in OVERTAKEN:
                raise
            self.add_error(self.ends[1], OVERTAKEN[name])
            return False
        return True

    def _refuse_circles(self, one: Exercise, other: Exercise) -> None:
        steps = {(step.easier.slug, step.harder.slug) for step in self.pathway.steps.all()}
        laterals = {(pair.one.slug, pair.other.slug) for pair in self.pathway.laterals.all()}
        self._put((one.slug, other.slug), steps, laterals)
        try:
            PathwayGraph.build(self.pathway.slug, steps, laterals)
        except CycleError as circle:
            names = self._names() | {one.slug: str(one), other.slug: str(other)}
            self.add_error(self.ends[1], f"That would lead in a circle: {circle.in_words(names)}.")

    def _names(self) -> dict[str, str]:
        ends = [(step.easier, step.harder) for step in self.pathway.steps.all()]
        ends += [(pair.one, pair.other) for pair in self.pathway.laterals.all()]
        return {exercise.slug: str(exercise) for pair in ends for exercise in pair}

    def _put(
        self, link: tuple[str, str], steps: set[tuple[str, str]], laterals: set[tuple[str, str]]
    ) -> None:
        raise NotImplementedError

    def _link(self) -> Step | Lateral:
        raise NotImplementedError


class StepForm(LinkForm):
    """A step up: from an easier exercise to a harder one."""

    easier = forms.ModelChoiceField(Exercise.objects.none(), label="From the easier")
    harder = forms.ModelChoiceField(Exercise.objects.none(), label="to the harder")
    change = forms.CharField(label="What changes", max_length=200)
    ready = forms.CharField(
        label="When is a child ready?",
        max_length=300,
        initial=READY,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Something that can be seen and counted.",
    )

    ends = ("easier", "harder")

    def clean_ready(self) -> str:
        return _finished(self.cleaned_data["ready"])

    def _put(
        self, link: tuple[str, str], steps: set[tuple[str, str]], laterals: set[tuple[str, str]]
    ) -> None:
        if link in steps:
            self.add_error("harder", OVERTAKEN["step_once"])
        steps.add(link)

    def _link(self) -> Step:
        return Step(pathway=self.pathway, **self.cleaned_data)


class LateralForm(LinkForm):
    """Two exercises that ask as much of a child."""

    one = forms.ModelChoiceField(Exercise.objects.none(), label="As hard as each other")
    other = forms.ModelChoiceField(Exercise.objects.none(), label="and")

    ends = ("one", "other")

    def _put(
        self, link: tuple[str, str], steps: set[tuple[str, str]], laterals: set[tuple[str, str]]
    ) -> None:
        if link in laterals or link[::-1] in laterals:
            self.add_error("other", OVERTAKEN["lateral_once"])
        laterals.add(link)

    def _link(self) -> Lateral:
        return Lateral.between(self.pathway, self.cleaned_data["one"], self.cleaned_data["other"])


class StepWordsForm(forms.ModelForm[Step]):
    class Meta:
        model = Step
        fields = ["change", "ready"]
        labels = {"change": "What changes", "ready": "When is a child ready?"}
        widgets = {"ready": forms.Textarea(attrs={"rows": 3})}
        help_texts = {"ready": "Something that can be seen and counted."}

    def clean_ready(self) -> str:
        return _finished(self.cleaned_data["ready"])


def _finished(ready: str) -> str:
    """The sentence, unless nothing but its beginning was left in the field."""
    if ready.strip(" .…") == READY.strip():
        raise ValidationError("Say what can be seen and counted.")
    return ready
