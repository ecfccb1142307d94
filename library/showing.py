"""What shows an exercise: which drawing belongs to what one of its revisions says."""

from dataclasses import dataclass
from functools import cached_property

from django.urls import reverse

from library.figures import movement
from library.models import Exercise, ExerciseRevision


def figure_address(slug: str, revision: ExerciseRevision) -> str:
    """Where the drawing of a revision of the exercise `slug` is; "" where none can be drawn."""
    if movement.drawn(slug, revision.movement) is None:
        return ""
    if revision.movement:
        return reverse("library:own_figure", args=[slug, revision.number])
    return reverse("library:figure", args=[slug])


@dataclass(frozen=True)
class Start:
    """A figure to begin with: its name, where it is drawn, and where it is changed."""

    name: str
    picture: str
    address: str


@dataclass(frozen=True)
class ShowingPage:
    """What can show an exercise, for the page on which a coach chooses."""

    exercise: Exercise

    @cached_property
    def drawn(self) -> bool:
        """Whether the library has a figure of this exercise."""
        return movement.drawn(self.exercise.slug) is not None

    @property
    def start(self) -> Start | None:
        """The figure it has now."""
        exercise, revision = self.exercise, self.exercise.current
        if revision is None or not (picture := figure_address(exercise.slug, revision)):
            return None
        named = str(revision.number) if revision.movement else exercise.slug
        return Start(str(exercise), picture, reverse("library:poses", args=[exercise.slug, named]))

    @property
    def starts(self) -> list[Start]:
        """Every figure of the library, by name."""
        drawings = ((slug, movement.drawn(slug)) for slug in movement.slugs())
        starts = [
            Start(
                each.title,
                reverse("library:figure", args=[slug]),
                reverse("library:poses", args=[self.exercise.slug, slug]),
            )
            for slug, each in drawings
            if each
        ]
        return sorted(starts, key=lambda start: start.name)
