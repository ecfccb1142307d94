import datetime as dt
import hashlib
from typing import Final

from django.conf import settings
from django.db import models
from django.db.models import Case, DurationField, ExpressionWrapper, F, Q, Subquery, Value, When
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce, Least

from athletes.models.access_rules import USUAL_IDLE_HOURS, AccessRules
from athletes.models.users import Role, User
from athletes.user_agents import UNKNOWN

LONGEST: Final = dt.timedelta(days=30)
"""Nobody stays signed in for longer than that."""
SIGNING_IN: Final = dt.timedelta(hours=1)
"""How long is kept what belongs to nobody: whoever asks for a code, or has signed out."""
SEEN_EVERY: Final = dt.timedelta(minutes=10)
"""No oftener is it written down that somebody is there."""


def digest_of(session_key: str) -> str:
    """Only the digest is stored: a copy of the database signs in nobody. A key is 32 random letters
    and digits, so that the digest wants neither salt nor stretching."""
    return hashlib.sha256(session_key.encode()).hexdigest()


class SignInQuerySet(models.QuerySet["SignIn"]):
    def visible_to(self, user: User) -> "SignInQuerySet":
        return self.filter(user=user) if user.is_active else self.none()

    def open_at(self, moment: dt.datetime) -> "SignInQuerySet":
        return self.filter(expires_at__gt=moment)

    def over_at(self, moment: dt.datetime) -> "SignInQuerySet":
        return self.filter(expires_at__lte=moment)

    def with_key(self, session_key: str) -> "SignInQuerySet":
        return self.filter(key_digest=digest_of(session_key))

    def without_key(self, session_key: str) -> "SignInQuerySet":
        return self.exclude(key_digest=digest_of(session_key))

    def end_anew(self, now: dt.datetime) -> None:
        """After the program has set another limit."""
        end = _end_for_whoever_was_seen(F("last_seen_at"))
        self.filter(expires_at__gt=now).update(expires_at=end)

    def seen(self, now: dt.datetime) -> None:
        self.update(last_seen_at=now, expires_at=_end_for_whoever_was_seen(Value(now)))


class SignIn(models.Model):
    """One browser in which somebody is signed in, or is about to: a session of Django's.

    What Django keeps in a session is sealed under a key of which the browser's cookie is a part.
    No address of a network is kept, and of the browser only what its owner knows it by.
    """

    key_digest = models.CharField(max_length=64, unique=True)
    sealed = models.BinaryField()
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, related_name="sign_ins"
    )
    device = models.CharField(max_length=60, blank=True)
    created_at = models.DateTimeField()
    last_seen_at = models.DateTimeField()
    expires_at = models.DateTimeField(db_index=True)

    objects = SignInQuerySet.as_manager()

    class Meta:
        ordering = ["-last_seen_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="nobody_stays_signed_in_for_good",
                condition=Q(expires_at__lte=F("created_at") + LONGEST),
            )
        ]

    def __str__(self) -> str:
        return f"a sign-in of {self.user}"

    @property
    def where(self) -> str:
        return self.device or UNKNOWN

    def is_to_be_seen_again(self, now: dt.datetime) -> bool:
        return self.user_id is not None and now - self.last_seen_at >= SEEN_EVERY


def _end_for_whoever_was_seen(at: Combinable) -> Combinable:
    """A family: thirty days after signing in. A coach: then at the latest, and before that when
    nothing was done for as long as the program sets."""
    coaches = User.objects.filter(role__in=[Role.HEAD_COACH, Role.COACH]).values("pk")
    hours = Coalesce(
        Subquery(AccessRules.objects.filter(pk=1).values("coach_idle_hours")),
        Value(USUAL_IDLE_HOURS),
    )
    idle = ExpressionWrapper(
        Value(dt.timedelta(hours=1), DurationField()) * hours, output_field=DurationField()
    )
    longest = ExpressionWrapper(F("created_at") + LONGEST, output_field=models.DateTimeField())
    at_rest = ExpressionWrapper(at + idle, output_field=models.DateTimeField())
    return Case(
        When(user__isnull=True, then=F("expires_at")),
        When(user__in=coaches, then=Least(longest, at_rest)),
        default=longest,
    )
