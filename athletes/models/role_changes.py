import datetime as dt
from typing import Final, Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from athletes.models.two_people import A_SECOND_LOOK, a_second_person_or_a_day
from athletes.models.users import Role, User

COACHING: Final = [Role.HEAD_COACH, Role.COACH]
GROWN_UPS: Final = [*COACHING, Role.GUARDIAN]


class RoleChangeQuerySet(models.QuerySet["RoleChange"]):
    def visible_to(self, user: User) -> Self:
        return self if user.is_active and user.is_head_coach else self.none()

    def waiting(self) -> Self:
        return self.filter(agreed_at__isnull=True, ended_at__isnull=True)

    def end(self, by: User | None, now: dt.datetime) -> int:
        """Have those that wait never hold."""
        return self.waiting().update(ended_by=by, ended_at=now)


class RoleChange(models.Model):
    """That somebody is to coach, to lead or to do so no more: asked for by a head coach, and in
    force once it is agreed to. A trigger lets no role change without it."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="role_changes"
    )
    was = models.CharField(max_length=10, choices=Role)
    role = models.CharField(max_length=10, choices=Role)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    asked_at = models.DateTimeField()
    agreed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    agreed_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True)

    objects = RoleChangeQuerySet.as_manager()

    class Meta:
        ordering = ["asked_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                name="one_waiting_role_change_of_a_person",
                fields=["person"],
                condition=Q(agreed_at__isnull=True, ended_at__isnull=True),
            ),
            models.CheckConstraint(
                name="changing_a_role_takes_a_second_person_or_a_day",
                condition=a_second_person_or_a_day(
                    "asked_by", "asked_at", "agreed_by", "agreed_at"
                ),
            ),
            models.CheckConstraint(
                name="a_role_change_is_agreed_to_or_ended",
                condition=Q(agreed_at__isnull=True) | Q(ended_at__isnull=True),
            ),
            models.CheckConstraint(
                name="a_role_change_is_of_a_grown_up_who_coaches_before_or_after",
                condition=Q(was__in=GROWN_UPS, role__in=GROWN_UPS) & ~Q(role=F("was")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_was_display()} to {self.get_role_display()}"

    def take_effect(self, person: User, now: dt.datetime) -> None:
        """The person, who is locked, has the role from now on, since it is agreed to. Who was
        signed in as who they were is the caller's to sign out."""
        if not person.is_coach:
            person.second_factor_counts_from = now
        person.role = self.role
        person.save(update_fields=["role", "second_factor_counts_from"])
        if not person.is_coach:
            person.cohorts.clear()

    def waits_for(self, user: User, now: dt.datetime) -> bool:
        """Whether it may be this head coach's to agree to."""
        return user.pk != self.asked_by_id or now >= self.holds_alone_at

    @property
    def holds_alone_at(self) -> dt.datetime:
        """From when on it holds where there is no second head coach."""
        return self.asked_at + A_SECOND_LOOK
