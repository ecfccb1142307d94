"""What an address names, or a 404. A step or lateral is looked up through its pathway."""

from django.http import Http404
from django.shortcuts import get_object_or_404

from library.figures.movement import Movement, drawn
from library.models import Exercise, ExerciseNote, ExerciseRevision, Lateral, Pathway, Step
from library.shared.ids import whole_number


def exercise_or_404(slug: str) -> Exercise:
    return get_object_or_404(Exercise.objects.with_current(), slug=slug)


def revision_or_404(slug: str, number: int) -> ExerciseRevision:
    """A revision of an exercise, by its number."""
    return get_object_or_404(ExerciseRevision, exercise__slug=slug, number=number)


def figure_or_404(exercise: Exercise, start: str) -> Movement:
    """A figure to begin with: that of a slug, or of the exercise's own revision of a number."""
    number = whole_number(start)
    own = "" if number is None else revision_or_404(exercise.slug, number).movement
    found = drawn(exercise.slug, own) if own else drawn(start)
    if found is None:
        raise Http404
    return found


def note_on_or_404(exercise: Exercise, pk: int) -> ExerciseNote:
    return get_object_or_404(ExerciseNote.objects.standing().filter(exercise=exercise), pk=pk)


def pathway_or_404(slug: str) -> Pathway:
    return get_object_or_404(Pathway.objects.with_graph(), slug=slug)


def step_in_or_404(pathway: Pathway, pk: int) -> Step:
    return get_object_or_404(
        pathway.steps.select_related("easier__current", "harder__current"), pk=pk
    )


def lateral_in_or_404(pathway: Pathway, pk: int) -> Lateral:
    return get_object_or_404(
        pathway.laterals.select_related("one__current", "other__current"), pk=pk
    )
