"""What shows an exercise: which drawing belongs to what one of its revisions says."""

from dataclasses import dataclass
from functools import cached_property

from django.urls import reverse

from library.figures import movement
from library.figures.movement import Movement
from library.models import Exercise, ExerciseRevision
from library.shared.uploads import Kind
from library.shared.uploads.keeping import kind_of


@dataclass(frozen=True)
class Picture:
    """A photo or clip of a coach's own: where it is, and in words what it shows."""

    kind: Kind
    address: str
    words: str


@dataclass(frozen=True)
class Figure:
    """The drawing of a revision: where it is, and the movement it is made from.

    A page shows a drawing and a phone keeps it by the same address, to the letter.
    """

    address: str
    movement: Movement

    def moving(self, tempo: str = "", side: str = "left") -> str:
        """Where it moves at this tempo, or at its own."""
        return f"{self.address}?side={side}{'&tempo=' if tempo else ''}{tempo}"

    def still(self, side: str = "left") -> str:
        """Where it stands, as on paper and in lists."""
        return f"{self.address}?side={side}&still"

    def pair(self, side: str = "left") -> str:
        """Where its start and its end stand side by side, for who asked for less motion."""
        return f"{self.address}?side={side}&pair"


def figure_of(slug: str, revision: ExerciseRevision) -> Figure | None:
    """The drawing of a revision of the exercise `slug`; None where none can be drawn, and where a
    photo or clip stands instead."""
    moves = movement.drawn(slug, revision.movement)
    if moves is None or revision.picture:
        return None
    if revision.movement:
        return Figure(reverse("library:own_figure", args=[slug, revision.number]), moves)
    return Figure(reverse("library:figure", args=[slug]), moves)


def picture_of(slug: str, revision: ExerciseRevision) -> Picture | None:
    """The photo or clip that stands instead of a drawing, if there is one."""
    kind = kind_of(revision.picture)
    if kind is None:
        return None
    address = reverse("library:picture_file", args=[slug, revision.number])
    return Picture(kind, address, revision.picture_words)


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
