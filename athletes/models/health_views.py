import datetime as dt
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import connection, models
from django.db.models import F
from django.db.models.functions import TruncHour

from athletes.models.children import Child

if TYPE_CHECKING:
    from athletes.models.users import User

WRITE_DOWN = """
INSERT INTO athletes_healthview (person_id, child_id, kind, at)
SELECT DISTINCT %(person)s, child, %(kind)s, %(at)s FROM unnest(%(children)s::bigint[]) AS child
WHERE NOT EXISTS (
    SELECT FROM athletes_guardianship WHERE child_id = child AND guardian_id = %(person)s
)
ORDER BY child
ON CONFLICT DO NOTHING
"""
"""In the order of children, so that of two pages opened at once one waits for the other."""


class HealthViewQuerySet(models.QuerySet["HealthView"]):
    def visible_to(self, user: "User") -> "HealthViewQuerySet":
        """Head coaches, and whoever decides for the child: those who ask, not those who are asked
        about."""
        if not user.is_active:
            return self.none()
        if user.is_head_coach:
            return self
        return self.filter(child__in=Child.objects.decided_by(user))

    def write_down(
        self, person: "User", kind: "HealthView.Kind", children: Iterable[int], at: dt.datetime
    ) -> None:
        """That somebody looked, once an hour for each child and kind. Only coaches are written
        down, and not for a child whose guardian they are. One query."""
        looked_at = list(children)
        if not person.is_coach or not looked_at:
            return
        values: dict[str, Any] = {"person": person.pk, "kind": kind, "at": at}
        with connection.cursor() as cursor:
            cursor.execute(WRITE_DOWN, values | {"children": looked_at})


class HealthView(models.Model):
    """That a coach looked at something of a child's health. Never changed; goes with the child,
    and stays, without a name, when the account goes."""

    class Kind(models.TextChoices):
        CHILD = "child", "opened the child’s page"
        REVIEW = "review", "opened all that came back"
        SPARED = "spared", "opened the page on what is spared"
        GROWTH = "growth", "opened the growth page"
        SESSION = "session", "opened a session, with what was logged and what hurt"
        QUESTION = "question", "opened a question"
        UPLOAD = "upload", "looked at a photo or clip"
        QUEUE = "queue", "opened the review, where something about the child waited"
        COPY = "copy", "fetched a copy of everything"
        LIST = "list", "opened the list of children, with what is spared and who grows fast"
        WEEK = "week", "opened the week, with what hurt and waited for an answer"
        FIT = "fit", "opened what the child gets instead of what is written, and why"
        ATTENDED = "attended", "opened attendance, with who was sick"
        REPORT = "report", "opened a block’s report"
        HELD = "held", "opened how much is held, what hurt among it"
        CHANGES = "changes", "opened who changed what"

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=8, choices=Kind)
    at = models.DateTimeField()

    objects = HealthViewQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                F("child"),
                F("person"),
                F("kind"),
                TruncHour("at", tzinfo=ZoneInfo("UTC")),
                name="one_look_an_hour",
            ),
        ]
        indexes = [models.Index(fields=["child", "-at"], name="looks_at_a_child")]

    def __str__(self) -> str:
        return f"{self.person or 'Somebody who has left'} {self.get_kind_display()}"
