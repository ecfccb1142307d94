from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower


class Role(models.TextChoices):
    HEAD_COACH = "head_coach", "head coach"
    COACH = "coach", "coach"
    GUARDIAN = "guardian", "parent or guardian"
    ATHLETE = "athlete", "young athlete"


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
    wants_mail = models.BooleanField(
        default=True, help_text="about questions and answers; codes and invitations always come"
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
        ]

    def __str__(self) -> str:
        return self.name

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
    def may_add_children(self) -> bool:
        """A coach asks a head coach, who sees every child: otherwise the answer, that a child is
        here already, would tell a coach who trains elsewhere."""
        return self.is_head_coach

    @property
    def is_family(self) -> bool:
        return self.role in {Role.GUARDIAN, Role.ATHLETE}
