from django import template

from library.models import ExerciseRevision
from library.showing import figure_address

register = template.Library()


@register.inclusion_tag("library/figure.html")
def figure(
    slug: str, revision: ExerciseRevision, size: str = "", still: bool = False, side: str = "left"
) -> dict[str, str]:
    """The drawing of a revision of the exercise `slug`, or nothing where none can be drawn.

    `size` is a class of figure: "figure-small" in a list, "figure-large" on its own page. The
    exercise's name stands beside it, so the picture itself stays silent to screen readers.
    """
    address = figure_address(slug, revision)
    query = "&".join([f"side={side}", *(["still"] if still else [])])
    return {"url": f"{address}?{query}", "size": size} if address else {}
