from django import template
from django.urls import reverse

from library.figures import movement

register = template.Library()


@register.inclusion_tag("library/figure.html")
def figure(slug: str, size: str = "", still: bool = False, side: str = "left") -> dict[str, str]:
    """The drawing of an exercise, or nothing where none has been drawn.

    `size` is a class of figure: "figure-small" in a list, "figure-large" on its own page. The
    exercise's name stands beside it, so the picture itself stays silent to screen readers.
    """
    if not movement.is_drawn(slug):
        return {}
    query = "&".join([f"side={side}", *(["still"] if still else [])])
    return {"url": f"{reverse('library:figure', args=[slug])}?{query}", "size": size}
