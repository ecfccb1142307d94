"""What shows a revision of an exercise: a figure, a photo or a clip, or nothing."""

from dataclasses import dataclass

from django.urls import reverse

from library.figures import movement
from library.figures.movement import Movement
from library.models import ExerciseRevision
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
