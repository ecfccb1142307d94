"""Whoever looks at a child's health is written down, so that its family can ask who did."""

from typing import TYPE_CHECKING

from django.utils import timezone

from athletes.models import Child, HealthView

if TYPE_CHECKING:
    from athletes.models import User


def looked_at(kind: HealthView.Kind, person: "User", *children: Child) -> None:
    """To be said by each page that shows pain, what is spared, growth, or a photo or clip."""
    HealthView.objects.write_down(person, kind, (child.pk for child in children), timezone.now())
