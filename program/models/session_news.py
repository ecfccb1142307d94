from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models

from athletes.models import Child
from program.models.sessions import Session

if TYPE_CHECKING:
    from athletes.models import User


class SessionNewsQuerySet(models.QuerySet["SessionNews"]):
    def visible_to(self, user: "User") -> "SessionNewsQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def untold(self) -> "SessionNewsQuerySet":
        return self.filter(told_at__isnull=True)


class SessionNews(models.Model):
    """That somebody of a child's family is to be mailed about a session. Written with the session
    that is sent, and ticked off with the mail that is to leave. One row: that it is there is told
    once, and what is to be told afterwards takes its place."""

    class What(models.TextChoices):
        NEW = "new", "it is there"
        REST = "rest", "what was still to come of it is there"
        NOTE = "note", "the coach has written something to it"

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="news")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="session_news")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="session_news"
    )
    what = models.CharField(max_length=4, choices=What, default=What.NEW)
    due_at = models.DateTimeField(help_text="when it is mailed, if not along with something else")
    told_at = models.DateTimeField(
        null=True, help_text="since when it is no news, mailed or told in another way"
    )

    objects = SessionNewsQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                name="told_once_of_a_session", fields=["session", "child", "person"]
            ),
            models.CheckConstraint(
                name="session_news_is_known", condition=models.Q(what__in=["new", "rest", "note"])
            ),
        ]
        indexes = [
            models.Index(
                name="session_news_untold",
                fields=["due_at"],
                condition=models.Q(told_at__isnull=True),
            )
        ]

    def __str__(self) -> str:
        return f"{self.session}, {self.child}"
