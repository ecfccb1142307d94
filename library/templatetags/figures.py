from django import template

from library.models import ExerciseRevision
from library.showing import figure_of

register = template.Library()


@register.inclusion_tag("library/figure.html")
def figure(
    slug: str, revision: ExerciseRevision, size: str = "", still: bool = False, tempo: str = ""
) -> dict[str, str]:
    """The drawing of a revision of the exercise `slug`, or nothing where none can be drawn.

    `size` is a class of figure: "figure-small" in a list, "figure-large" on its own page. It moves
    at `tempo`, or at the revision's own. The exercise's name stands beside it, so the picture
    itself stays silent to screen readers.
    """
    found = figure_of(slug, revision)
    if found is None:
        return {}
    if still:
        return {"url": found.still(), "size": size}
    return {"url": found.moving(tempo or revision.tempo), "calm": found.pair(), "size": size}


@register.inclusion_tag("library/figure.html")
def figure_on_paper(slug: str, revision: ExerciseRevision) -> dict[str, str | bool]:
    """The start and the end of an exercise, there before anything is printed; or nothing."""
    found = figure_of(slug, revision)
    return {"url": found.pair(), "size": "figure-paper", "now": True} if found else {}
