from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef, Q

from athletes.models import Child, Cohort
from program.models.assigned import AssignedSession
from program.models.sessions import Session

if TYPE_CHECKING:
    from athletes.models import User


class Presence(models.TextChoices):
    """Whether a child was in the hall; why not is said as in a log (`Absence`)."""

    THERE = "there", "there"
    SICK = "sick", "sick"
    AWAY = "away", "away"
    NO_WORD = "no_word", "absent, no notice"


class AttendanceQuerySet(models.QuerySet["Attendance"]):
    def visible_to(self, user: "User") -> "AttendanceQuerySet":
        return self.filter(child__in=Child.objects.visible_to(user))

    def remembered_by(self, user: "User") -> "AttendanceQuerySet":
        """Those, and what was said in a coach's own cohorts of children who have left them since
        the program's limit: to be read, and not to be written."""
        own = Q(
            session__block__cohort__in=Cohort.objects.visible_to(user),
            child__in=Child.objects.remembered_by(user),
        )
        return self.filter(Q(child__in=Child.objects.visible_to(user)) | own)

    def without_a_session(self) -> "AttendanceQuerySet":
        """Those that count by themselves: the session took place, and the child has not got it
        since."""
        sent = AssignedSession.objects.filter(session=OuterRef("session"), child=OuterRef("child"))
        return self.filter(~Exists(sent), session__called_off_at__isnull=True)

    def logged_instead(self, given: "models.QuerySet[AssignedSession]") -> "AttendanceQuerySet":
        """Those of the children and sessions of these assigned ones."""
        mine = given.filter(session=OuterRef("session"), child=OuterRef("child"))
        return self.filter(Exists(mine.order_by()))


class Attendance(models.Model):
    """What the hall's log says of a child that has nothing of a session: that it was there, or why
    not. It goes with the child's log of that session, once there is one."""

    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="attendance")
    child = models.ForeignKey(Child, on_delete=models.CASCADE, related_name="attendance")
    presence = models.CharField(max_length=7, choices=Presence)
    said_at = models.DateTimeField()
    said_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    objects = AttendanceQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(name="in_the_hall_once", fields=["session", "child"]),
            models.CheckConstraint(
                name="presence_is_known", condition=Q(presence__in=Presence.values)
            ),
        ]

    def __str__(self) -> str:
        return self.get_presence_display()

    @property
    def mark(self) -> str:
        """What somebody saw of it; it changes with every correction."""
        return self.said_at.isoformat()
