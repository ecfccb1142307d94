"""What sessions are begun from: parts, sessions and whole blocks kept under a name."""

from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Q

if TYPE_CHECKING:
    from athletes.models import User


class TemplateKind(models.TextChoices):
    PART = "part", "part"
    SESSION = "session", "session"
    BLOCK = "block", "block"


class TemplateQuerySet(models.QuerySet["Template"]):
    def visible_to(self, user: "User") -> "TemplateQuerySet":
        """Every coach's: a template holds no word about a child."""
        return self.all() if user.is_coach else self.none()

    def kept_by(self, user: "User") -> "TemplateQuerySet":
        """Those the user may throw away: their own, and a head coach everybody's."""
        return self.all() if user.is_head_coach else self.filter(made_by=user)


class Template(models.Model):
    """A part, a session or a block under a name, to begin another one from."""

    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=7, choices=TemplateKind)
    content = models.JSONField(help_text="outlines of its sessions, each with its day in the block")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)

    objects = TemplateQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "name", "pk"]
        constraints = [
            models.CheckConstraint(name="template_has_a_name", condition=~Q(name="")),
            models.CheckConstraint(
                name="template_kind_is_known", condition=Q(kind__in=TemplateKind.values)
            ),
        ]

    def __str__(self) -> str:
        return self.name
