"""Where children stand on pathways."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms
from django.db import transaction
from django.utils import timezone

from athletes.changes import place_all, start_all
from athletes.models import Child, Placement, StartingPoint, User
from athletes.models.starting_points import TrainingAge
from athletes.placement_ladder import Ladder
from athletes.starting_profile import Group, PathwayStarts, Start, usual_start
from library.models import Exercise, Pathway


class FirstPlacementForm(forms.Form):
    """Per pathway the hardest exercise seen done well; what was not seen is left alone."""

    why = forms.CharField(
        label="How you know",
        max_length=200,
        required=False,
        help_text="Optional, kept in the history. For example: seen at the first session.",
        error_messages={"max_length": "At most 200 characters."},
    )

    def __init__(
        self,
        *args: Any,
        ladders: Iterable[Ladder],
        current: Mapping[int, Placement],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.ladders = {f"on-{each.pathway.slug}": each for each in ladders if each.rungs}
        for name, ladder in self.ladders.items():
            placement = current.get(ladder.pathway.pk)
            stands = placement.exercise.slug if placement and placement.is_seen else ""
            self.fields[name] = _hardest_done_well(ladder, stands)
        self.order_fields([*self.ladders, "why"])

    def pathways(self) -> list[tuple[forms.BoundField, Any, list[tuple[Any, Exercise]]]]:
        """Each pathway's field, its radio for what was not seen, and the others with theirs."""
        found = []
        for name, ladder in self.ladders.items():
            field = self[name]
            not_seen, *radios = field.subwidgets
            exercises = [rung.exercise for rung in ladder.rungs]
            found.append((field, not_seen, list(zip(radios, exercises, strict=True))))
        return found

    @property
    def chosen(self) -> dict[Pathway, Exercise]:
        found = {}
        for name, ladder in self.ladders.items():
            exercise = ladder.find(self.cleaned_data[name])
            if exercise is not None:
                found[ladder.pathway] = exercise
        return found

    def place(self, child: Child, by: User) -> int:
        """How many pathways the child is on now that were ticked."""
        return len(place_all(child, self.chosen, by, self.cleaned_data["why"]))


def _hardest_done_well(ladder: Ladder, stands: str) -> forms.ChoiceField:
    exercises = [(rung.exercise.slug, str(rung.exercise)) for rung in ladder.rungs]
    return forms.ChoiceField(
        label=ladder.pathway.name,
        choices=[("", "not seen yet"), *exercises],
        widget=forms.RadioSelect(attrs={"class": "form-check-input"}),
        required=False,
        initial=stands,
        error_messages={
            "invalid_choice": "This exercise is no longer on the pathway. Choose another."
        },
    )


class MoveForm(forms.Form):
    """One child to another exercise of the board's pathway: "<child's public id>:<slug>"."""

    move = forms.RegexField(
        r"^[0-9a-f-]{36}:[-a-zA-Z0-9_]{1,80}$",
        error_messages={
            "required": "Choose an exercise first.",
            "invalid": "Choose an exercise first.",
        },
    )
    why = forms.CharField(
        label="Why",
        max_length=200,
        required=False,
        error_messages={"max_length": "At most 200 characters."},
    )


class GroupForm(forms.Form):
    """A whole group to where its children begin."""

    counted_as = forms.ChoiceField(
        label="Counted as",
        choices=[("", "by their time here"), *TrainingAge.choices],
        required=False,
        widget=forms.RadioSelect(attrs={"class": "form-check-input"}),
        error_messages={"invalid_choice": "Choose one of the four."},
    )

    def place(self, group: Group, by: User) -> int:
        """How many children were placed on something."""
        said = self.cleaned_data["counted_as"]
        made = start_all(group.starts(TrainingAge(said) if said else None), by)
        return len({placement.child_id for placement in made})


class ProfileForm(forms.Form):
    """Where children of each training age begin, on every pathway."""

    def __init__(self, *args: Any, profile: Sequence[PathwayStarts], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.profile = profile
        for each in profile:
            for start in each.starts:
                self.fields[_field_of(each, start)] = _where_to_begin(each, start)

    def rows(self) -> list[tuple[Pathway, list[forms.BoundField]]]:
        return [
            (each.pathway, [self[_field_of(each, start)] for start in each.starts])
            for each in self.profile
        ]

    @transaction.atomic
    def keep(self, by: User) -> None:
        """What is usual is not kept. What stays as it was keeps who set it."""
        now = timezone.now()
        for each in self.profile:
            for start in each.starts:
                slug = self.cleaned_data[_field_of(each, start)]
                if slug != ("" if start.is_usual else start.exercise.slug):
                    _keep_start(each, start.training_age, slug, by, now)


def _field_of(starts: PathwayStarts, start: Start) -> str:
    return f"{starts.pathway.slug}-{start.training_age}"


def _where_to_begin(starts: PathwayStarts, start: Start) -> forms.ChoiceField:
    usual = usual_start(starts.ladder, start.training_age)
    exercises = [(rung.exercise.slug, str(rung.exercise)) for rung in starts.ladder.rungs]
    return forms.ChoiceField(
        label=f"{starts.pathway}, {start.training_age.label}",
        choices=[("", f"usual: {usual}"), *exercises],
        required=False,
        widget=forms.Select(attrs={"class": "form-select"}),
        initial="" if start.is_usual else start.exercise.slug,
        error_messages={
            "invalid_choice": "This exercise is no longer on the pathway. Choose another."
        },
    )


def _keep_start(
    starts: PathwayStarts, age: TrainingAge, slug: str, by: User, now: dt.datetime
) -> None:
    points = StartingPoint.objects
    exercise = starts.ladder.find(slug)
    if exercise in (None, usual_start(starts.ladder, age)):
        points.filter(pathway=starts.pathway, training_age=age).delete()
        return
    said = {"exercise": exercise, "by": by, "at": now}
    points.update_or_create(pathway=starts.pathway, training_age=age, defaults=said)
