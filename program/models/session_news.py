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
    """That somebody of a child's family is to be mailed about a session, once. Written with the
    session that is sent, and ticked off with the mail that is to leave."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="news")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="session_news")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="session_news"
    )
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
            )
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
