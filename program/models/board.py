from typing import TYPE_CHECKING

from django.db import models
from django.db.models import F, Q

from program.models.blocks import Block
from program.models.undoable import Undoable, UndoableQuerySet

if TYPE_CHECKING:
    from athletes.models import User


class BoardChangeQuerySet(UndoableQuerySet["BoardChange"]):
    def visible_to(self, user: "User") -> "BoardChangeQuerySet":
        return self.filter(block__in=Block.objects.visible_to(user))


class BoardChange(Undoable):
    """Something done on a block's board, with what undoing it needs to know."""

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="changes")
    made = models.JSONField(default=list, help_text="id and version of each session it made")
    moved = models.JSONField(default=list, help_text="id, day before and day after of each session")
    dropped = models.TextField(blank=True, help_text="the rows it took out, as JSON")
    ended_on = models.DateField(null=True, help_text="the block's last day before it")

    objects = BoardChangeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="board_change_undone_after_it_was_done",
                condition=Q(undone_at__isnull=True) | Q(undone_at__gte=F("at")),
            ),
        ]
