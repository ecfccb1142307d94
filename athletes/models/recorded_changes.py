from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models

from athletes.models.children import Child

if TYPE_CHECKING:
    from athletes.models.users import User


class RecordedChangeQuerySet(models.QuerySet["RecordedChange"]):
    def visible_to(self, user: "User") -> "RecordedChangeQuerySet":
        """Head coaches, and of an account whoever it belongs to."""
        if not user.is_active:
            return self.none()
        return self if user.is_head_coach else self.filter(person=user)


class RecordedChange(models.Model):
    """That a row about a child or a person was added, changed or removed. Written by the triggers
    of `athletes/0021_record_changes` and nothing else, and never changed; `by` is None where it was
    Fledge's own doing, or that of somebody not signed in.

    Nothing in the database ties it to whom it names: rows of a child or an account are erased with
    it by a trigger, and `by` may name an account that is there no longer.
    """

    class What(models.TextChoices):
        ADDED = "added", "added"
        CHANGED = "changed", "changed"
        REMOVED = "removed", "removed"

    table = models.CharField(max_length=63)
    row = models.BigIntegerField()
    what = models.CharField(max_length=7, choices=What)
    child = models.ForeignKey(
        Child,
        on_delete=models.DO_NOTHING,
        db_constraint=False,
        db_index=False,
        null=True,
        related_name="+",
    )
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.DO_NOTHING,
        db_constraint=False,
        null=True,
        related_name="+",
        help_text="the account that was changed",
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.DO_NOTHING,
        db_constraint=False,
        db_index=False,
        null=True,
        related_name="+",
    )
    request = models.CharField(max_length=20, blank=True, help_text="the number of the request")
    at = models.DateTimeField()
    before = models.JSONField(null=True, help_text="what the columns that changed said")
    after = models.JSONField(null=True, help_text="what they say")

    objects = RecordedChangeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["child", "-at"], name="changes_about_a_child")]

    def __str__(self) -> str:
        return f"{self.table} {self.get_what_display()}"
