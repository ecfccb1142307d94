"""How a figure looks while it is being changed."""

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass

from library.figure_editor.forms.figures import PoseForm
from library.figures import drawing
from library.figures.checks import advice


@dataclass(frozen=True)
class Preview:
    """A figure that is being changed: a key pose and the whole as addresses that hold the drawings
    themselves, and what a coach may want to look at again. Without drawings it cannot be drawn."""

    pose: str
    problems: Sequence[str] = ()
    still: str = ""
    moving: str = ""
    describe: str = ""
    advice: Sequence[str] = ()


def look_of(form: PoseForm) -> Preview:
    """How the figure of a form looks; the form's own errors say why where it cannot be drawn."""
    shown = form.names[form.shown]
    moves = form.movement if form.is_bound and form.is_valid() else None
    if form.is_bound and moves is None:
        return Preview(shown, form.problems())
    moves = moves or form.start
    still, moving = drawing.afresh(moves, shown)
    said = advice(moves, form.origin)
    return Preview(shown, (), _inside(still), _inside(moving), moves.describe, said)


def _inside(svg: str) -> str:
    return f"data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}"
