from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from program.models.blocks import Block

if TYPE_CHECKING:
    from athletes.models import User


class BoardChangeQuerySet(models.QuerySet["BoardChange"]):
    def visible_to(self, user: "User") -> "BoardChangeQuerySet":
        return self.filter(block__in=Block.objects.visible_to(user))

    def standing(self) -> "BoardChangeQuerySet":
        """Those nobody has taken back."""
        return self.filter(undone_at__isnull=True)


class BoardChange(models.Model):
    """Something done on a block's board, with what taking it back needs to know."""

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="changes")
    sentence = models.CharField(max_length=300, help_text="what was done, as the coach reads it")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField()
    made = models.JSONField(default=list, help_text="id and version of each session it made")
    moved = models.JSONField(default=list, help_text="id, day before and day after of each session")
    dropped = models.TextField(blank=True, help_text="the rows it took out, as JSON")
    ended_on = models.DateField(null=True, help_text="the block's last day before it")
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = BoardChangeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="board_change_undone_after_it_was_done",
                condition=Q(undone_at__isnull=True) | Q(undone_at__gte=F("at")),
            ),
        ]

    def __str__(self) -> str:
        return self.sentence
