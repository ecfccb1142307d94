"""What shows an exercise: which drawing belongs to what one of its revisions says."""

from django.urls import reverse

from library.figures import movement
from library.models import ExerciseRevision


def figure_address(slug: str, revision: ExerciseRevision) -> str:
    """Where the drawing of a revision of the exercise `slug` is; "" where none can be drawn."""
    if movement.drawn(slug, revision.movement) is None:
        return ""
    if revision.movement:
        return reverse("library:own_figure", args=[slug, revision.number])
    return reverse("library:figure", args=[slug])
