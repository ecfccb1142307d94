"""What shows an exercise: which drawing belongs to what one of its revisions says."""

from dataclasses import dataclass
from functools import cached_property

from django.urls import reverse

from library.figures import movement
from library.figures_of_revisions import Figure, figure_of
from library.models import Exercise


@dataclass(frozen=True)
class Start:
    """A figure to begin with: its name, where it is drawn, and where it is changed."""

    name: str
    picture: str
    address: str


@dataclass(frozen=True)
class FigureChoicePage:
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
        figure = figure_of(exercise.slug, revision) if revision else None
        if revision is None or figure is None:
            return None
        named = str(revision.number) if revision.movement else exercise.slug
        return Start(
            str(exercise),
            figure.moving(revision.tempo),
            reverse("library:poses", args=[exercise.slug, named]),
        )

    @property
    def starts(self) -> list[Start]:
        """Every figure of the library, by name."""
        drawings = ((slug, movement.drawn(slug)) for slug in movement.slugs())
        starts = [
            Start(
                each.title,
                Figure(reverse("library:figure", args=[slug]), each).still(),
                reverse("library:poses", args=[self.exercise.slug, slug]),
            )
            for slug, each in drawings
            if each
        ]
        return sorted(starts, key=lambda start: start.name)
