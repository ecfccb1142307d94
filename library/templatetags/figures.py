from typing import Any

from django import template

from library.figures_of_revisions import figure_of, picture_of
from library.models import ExerciseRevision

register = template.Library()


@register.inclusion_tag("library/figure.html")
def figure(
    slug: str, revision: ExerciseRevision, size: str = "", still: bool = False, tempo: str = ""
) -> dict[str, Any]:
    """What shows a revision of the exercise `slug`, or nothing where words alone do.

    `size` is a class of figure: "figure-small" in a list, "figure-large" on its own page. It moves
    at `tempo`, or at the revision's own. The exercise's name stands beside it, so the picture
    itself stays silent to screen readers. A clip never starts by itself; among stills a word stands
    for it.
    """
    if picture := picture_of(slug, revision):
        return {"picture": picture, "size": size, "still": still}
    found = figure_of(slug, revision)
    if found is None:
        return {}
    if still:
        return {"url": found.still(), "size": size}
    return {"url": found.moving(tempo or revision.tempo), "calm": found.pair(), "size": size}


@register.inclusion_tag("library/figure.html")
def figure_on_paper(slug: str, revision: ExerciseRevision) -> dict[str, Any]:
    """The start and the end of an exercise, or its photo, there before anything is printed."""
    if picture := picture_of(slug, revision):
        return {"picture": picture, "size": "figure-paper", "still": True, "now": True}
    found = figure_of(slug, revision)
    return {"url": found.pair(), "size": "figure-paper", "now": True} if found else {}
