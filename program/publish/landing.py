"""Placing on landing those whom a stop means, on the way to publishing."""

from collections.abc import Sequence
from functools import cached_property
from itertools import count
from typing import Any

from django import forms
from django.db import transaction

from athletes.changes import place
from athletes.models import Child, User
from athletes.placement_ladder import ladder_of
from library.models import Exercise, Pathway
from library.shared.forms import form_helper
from program.checks.cohort_facts import cohort_facts
from program.models import Session


def not_placed_on_landing(session: Session, user: User) -> list[Child]:
    """Those in the session's cohort that day whom nobody has placed on a landing pathway."""
    return list(Child.objects.visible_to(user).filter(pk__in=unplaced_on_landing(session)))


def unplaced_on_landing(session: Session) -> list[int]:
    """The same by key, whoever may see them."""
    day = session.date
    people = cohort_facts(session.block.cohort, day, day).people
    return [each.child for each in people.on(day) if not each.is_placed_on_landing]


class LandingForm(forms.Form):
    """Per child the hardest landing seen done well; who was not seen is left alone."""

    why = forms.CharField(
        label="How you know",
        max_length=200,
        required=False,
        help_text="Optional, kept in the history. For example: seen at the venue on Monday.",
    )

    def __init__(self, children: Sequence[Child], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_field = {f"child-{child.pk}": child for child in children}
        pathways = Pathway.objects.filter(pattern="land").with_graph()
        self._ladders = [ladder for ladder in map(ladder_of, pathways) if ladder.rungs]
        for name, child in self.by_field.items():
            self.fields[name] = forms.ChoiceField(
                label=str(child),
                required=False,
                choices=[("", "not seen yet"), *self._choices()],
                error_messages={"invalid_choice": "Choose one of the landings in the list."},
            )
        self.order_fields([*self.by_field, "why"])
        self.helper = form_helper(*self.fields, submit="Place them, back to the session")

    @cached_property
    def landings(self) -> list[tuple[Pathway, list[tuple[int, Exercise]]]]:
        """Each pathway's from easier to harder, numbered through, so that a name in a child's list
        is found beside its figure."""
        numbers = count(1)
        return [
            (ladder.pathway, [(next(numbers), rung.exercise) for rung in ladder.rungs])
            for ladder in self._ladders
        ]

    def _choices(self) -> list[Any]:
        return [
            (
                pathway.name,
                [
                    (f"{pathway.slug}:{exercise.slug}", f"{number} · {exercise}")
                    for number, exercise in landings
                ],
            )
            for pathway, landings in self.landings
        ]

    def _chosen(self, value: str) -> tuple[Pathway, Exercise]:
        pathway, _, slug = value.partition(":")
        ladder = next(each for each in self._ladders if each.pathway.slug == pathway)
        (exercise,) = (rung.exercise for rung in ladder.rungs if rung.exercise.slug == slug)
        return ladder.pathway, exercise

    @transaction.atomic
    def place(self, by: User) -> list[Child]:
        """Those that were placed; in the order of their keys, as whoever publishes has them."""
        placed = []
        for name, child in sorted(self.by_field.items(), key=lambda pair: pair[1].pk):
            if self.cleaned_data[name]:
                pathway, exercise = self._chosen(self.cleaned_data[name])
                place(child, pathway, exercise, by, self.cleaned_data["why"])
                placed.append(child)
        return placed
