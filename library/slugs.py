from django.db.models import Model
from django.utils.text import slugify

# Addresses that mean something else where a name's slug would stand.
TAKEN = {"new"}
LONGEST = 56  # characters, so that a number still fits


def free_slug(model: type[Model], name: str) -> str:
    """A slug made from the name that no row of the model has yet: "squat", "squat-2", …"""
    stem = slugify(name)[:LONGEST].strip("-_") or model._meta.model_name or "unnamed"
    taken = TAKEN | set(
        model._default_manager.filter(slug__startswith=stem).values_list("slug", flat=True)
    )
    number = 1
    slug = stem
    while slug in taken:
        number += 1
        slug = f"{stem}-{number}"
    return slug
