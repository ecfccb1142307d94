import datetime as dt
from typing import Any, Final

from allauth.mfa.models import Authenticator
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower
from django.utils import timezone

COACHES_FIRST_TIME: Final = dt.timedelta(days=7)
"""So long whoever begins to coach may do without a second factor."""
SECOND_FACTORS: Final = (Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN)
"""Recovery codes stand in for one of these and are none themselves."""


class Role(models.TextChoices):
    HEAD_COACH = "head_coach", "head coach"
    COACH = "coach", "coach"
    GUARDIAN = "guardian", "parent or guardian"
    ATHLETE = "athlete", "young athlete"


class SessionMail(models.TextChoices):
    """How somebody hears that sessions are published."""

    AT_ONCE = "at_once", "At once"
    EVENING = "evening", "In the evening, if there are any"
    NEVER = "never", "Never"


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, **fields: Any) -> "User":
        """A person who signs in by emailed code; no password is ever set."""
        user = self.model(email=email.strip().lower(), **fields)
        user.set_unusable_password()
        user.save(using=self._db)
        return user

    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(email__iexact=username)


class User(AbstractBaseUser):
    """Somebody who signs in: a coach, a guardian or, where wished, a young athlete."""

    email = models.EmailField()
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=10, choices=Role)
    is_active = models.BooleanField(default=True)
    created_at = models.DateTimeField(auto_now_add=True)
    second_factor_counts_from = models.DateTimeField(
        default=timezone.now,
        help_text="when the account was made or began to coach: a coach's first days begin then",
    )
    wants_mail = models.BooleanField(
        default=True, help_text="about questions and answers; codes and invitations always come"
    )

    session_mail = models.CharField(
        max_length=7,
        choices=SessionMail,
        default=SessionMail.EVENING,
        help_text="of new sessions; none where no mail is wanted",
    )

    objects = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name", "role"]

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                Lower("email"),
                name="email_once_whatever_its_case",
                violation_error_message="Somebody already signs in with this email address.",
            ),
            models.CheckConstraint(name="role_is_known", condition=Q(role__in=Role.values)),
            models.CheckConstraint(
                name="session_mail_is_known", condition=Q(session_mail__in=SessionMail.values)
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def has_usable_password(self) -> bool:
        """Nobody has one, whatever the column holds: allauth would ask for it."""
        return False

    @property
    def hears_of_sessions(self) -> bool:
        """Whether this person is mailed about new sessions."""
        return self.is_active and self.wants_mail and self.session_mail != SessionMail.NEVER

    @property
    def is_coach(self) -> bool:
        return self.role in {Role.HEAD_COACH, Role.COACH}

    @property
    def is_head_coach(self) -> bool:
        return self.role == Role.HEAD_COACH

    @property
    def is_guardian(self) -> bool:
        return self.role == Role.GUARDIAN

    @property
    def decides(self) -> bool:
        """Whether this person may be one who decides for a child as family: a guardian, or an
        athlete who has taken over at 18. A query for an athlete."""
        child = getattr(self, "child", None) if self.is_athlete else None
        return self.is_guardian or (child is not None and child.has_taken_over())

    @property
    def may_add_children(self) -> bool:
        """A coach asks a head coach, who sees every child: otherwise the answer, that a child is
        here already, would tell a coach who trains elsewhere."""
        return self.is_head_coach

    @property
    def is_athlete(self) -> bool:
        return self.role == Role.ATHLETE

    @property
    def is_family(self) -> bool:
        return self.role in {Role.GUARDIAN, Role.ATHLETE}

    @property
    def second_factor_due_at(self) -> dt.datetime | None:
        """From when on a coach does nothing without one. None: families may have one and need
        none."""
        return self.second_factor_counts_from + COACHES_FIRST_TIME if self.is_coach else None

    def second_factor_is_due(self, now: dt.datetime) -> bool:
        """Whether this person is to have one by now. No query."""
        due_at = self.second_factor_due_at
        return due_at is not None and now >= due_at

    def has_second_factor(self) -> bool:
        """One query."""
        return bool(Authenticator.objects.filter(user=self, type__in=SECOND_FACTORS).exists())
