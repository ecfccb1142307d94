import datetime as dt
import hashlib
import secrets
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.db import models, transaction
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from athletes.models.children import Child, Guardianship
from athletes.models.users import Role, User

if TYPE_CHECKING:
    from athletes.models.cohorts import Cohort

LIFETIME = dt.timedelta(days=7)


def digest(token: str) -> str:
    """Only the digest is stored: a copy of the database opens no door."""
    return hashlib.sha256(token.encode()).hexdigest()


NO_LONGER_WORKS: Final = (
    "This invitation does not work any more. It works once, within seven days, unless it was "
    "withdrawn. Ask whoever sent it for a new one."
)
INVITER_MAY_NOT: Final = (
    "Whoever sent this invitation may no longer invite here. Ask your coach for a new one."
)


class InvitationRefused(Exception):
    """Why an invitation lets nobody in, in words for whoever holds it."""


class InvitationQuerySet(models.QuerySet["Invitation"]):
    def unused(self) -> "InvitationQuerySet":
        """Neither used nor withdrawn; perhaps too old."""
        return self.filter(used_at__isnull=True, withdrawn_at__isnull=True)

    def open_at(self, moment: dt.datetime) -> "InvitationQuerySet":
        return self.unused().filter(expires_at__gt=moment)

    def withdraw(self, moment: dt.datetime) -> int:
        """Have those not used let nobody in any more. A trigger takes their mails that have not
        left, and withdraws in the same way what somebody sent who is removed or switched off."""
        return self.unused().update(withdrawn_at=moment)

    def over_at(self, moment: dt.datetime) -> "InvitationQuerySet":
        """Past their time, whether used or not: nobody needs the address any more."""
        return self.filter(expires_at__lte=moment)

    def with_mail(self) -> "InvitationQuerySet":
        """Each with `mail_waits`: whether its mail has still to leave."""
        mails = self.model._meta.get_field("mails").related_model._default_manager
        return self.annotate(mail_waits=Exists(mails.filter(invitation=OuterRef("pk"))))

    def visible_to(self, user: User) -> "InvitationQuerySet":
        """Invitations concern people, so only the head coach and whoever sent one see it."""
        if not user.is_active:
            return self.none()
        return self if user.is_head_coach else self.filter(invited_by=user)

    def invite(
        self,
        email: str,
        role: str,
        invited_by: User,
        child: Child | None = None,
        cohort: "Cohort | None" = None,
    ) -> tuple["Invitation", str]:
        """Make an invitation; the token is returned once, to be mailed, and is not kept."""
        invitation, token = self._made(email, role, invited_by, child, cohort)
        invitation.save(force_insert=True)
        return invitation, token

    def invite_guardians(
        self, emails: Iterable[tuple[Child, str]], invited_by: User
    ) -> list[tuple["Invitation", str]]:
        """Invitations for many children's guardians in one statement, each with its token."""
        made = [
            self._made(email, Role.GUARDIAN, invited_by, child, None) for child, email in emails
        ]
        self.bulk_create(invitation for invitation, _ in made)
        return made

    def _made(
        self, email: str, role: str, invited_by: User, child: Child | None, cohort: "Cohort | None"
    ) -> tuple["Invitation", str]:
        token = secrets.token_urlsafe(32)
        invitation = Invitation(
            email=email.strip().lower(),
            role=role,
            child=child,
            cohort=cohort,
            invited_by=invited_by,
            token_digest=digest(token),
            expires_at=timezone.now() + LIFETIME,
        )
        return invitation, token

    def for_token(self, token: str, moment: dt.datetime) -> "Invitation | None":
        return self.open_at(moment).filter(token_digest=digest(token)).first()


class Invitation(models.Model):
    """A single-use, expiring door for one email address into one role."""

    token_digest = models.CharField(max_length=64, unique=True)
    email = models.EmailField()
    role = models.CharField(max_length=10, choices=Role)
    child = models.ForeignKey(Child, on_delete=models.CASCADE, null=True, blank=True)
    cohort = models.ForeignKey("athletes.Cohort", on_delete=models.CASCADE, null=True, blank=True)
    invited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="invitations"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="accepted_invitations",
        help_text="who came in by it",
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    mail_failed_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.CheckConstraint(
                name="family_invitation_names_its_child",
                condition=~Q(role__in=["guardian", "athlete"]) | Q(child__isnull=False),
            ),
            models.CheckConstraint(
                name="invitation_expires_after_it_is_made",
                condition=Q(expires_at__gt=F("created_at")),
            ),
        ]

    def __str__(self) -> str:
        return f"invitation as {self.get_role_display()}"

    @property
    def mail_state(self) -> str:
        """What became of its mail, "" once it has left. Of `with_mail()`."""
        if self.mail_failed_at:
            return "its mail could not be delivered: check the address"
        return "its mail is on its way" if getattr(self, "mail_waits", False) else ""

    @transaction.atomic
    def accept(self, name: str, moment: dt.datetime) -> User:
        """Use the invitation once. Raises InvitationRefused: of two simultaneous uses the second;
        and where whoever invited may do so no longer."""
        if not self._inviter_still_may(timezone.localdate(moment)):
            raise InvitationRefused(INVITER_MAY_NOT)
        if not Invitation.objects.open_at(moment).filter(pk=self.pk).update(used_at=moment):
            raise InvitationRefused(NO_LONGER_WORKS)
        user = User.objects.filter(email__iexact=self.email).first()
        if user is None:
            user = User.objects.create_user(self.email, name=name, role=self.role)
        self._open_doors_for(user)
        Invitation.objects.filter(pk=self.pk).update(accepted_by=user)
        return user

    def _inviter_still_may(self, today: dt.date) -> bool:
        """Whether whoever invited may let this person in on this day. Inviter and child stay locked
        until the end of the transaction: switching off and ending an enrolment wait, removing a
        guardian waits for the invitation itself."""
        inviter = User.objects.select_for_update(no_key=True).get(pk=self.invited_by_id)
        if self.child_id is None:
            return inviter.is_active and inviter.is_head_coach
        children = Child.objects.filter(pk=self.child_id)
        children.select_for_update(no_key=True).get()
        return children.open_to_invitations_by(inviter, self.role, today).exists()

    def _open_doors_for(self, user: User) -> None:
        if self.child and self.role == Role.GUARDIAN:
            Guardianship.objects.get_or_create(child=self.child, guardian=user)
        if self.child and self.role == Role.ATHLETE:
            Child.objects.filter(pk=self.child.pk, user__isnull=True).update(user=user)
        if self.cohort and self.role == Role.COACH:
            self.cohort.coaches.add(user)
