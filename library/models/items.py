from django.db import models


class Item(models.Model):
    """Something that can meet a need: a thing, a kind of floor, or a clear space."""

    class Kind(models.TextChoices):
        THING = "thing", "thing"
        FLOOR = "floor", "floor"
        SPACE = "space", "clear space"

    slug = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=5, choices=Kind)
    about = models.CharField(max_length=250, blank=True)

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.CheckConstraint(
                name="item_kind_is_known",
                condition=models.Q(kind__in=["thing", "floor", "space"]),
            )
        ]

    def __str__(self) -> str:
        return self.name
