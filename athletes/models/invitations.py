import datetime as dt
import hashlib
import secrets
from collections.abc import Iterable
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from athletes.models.children import Child, Guardianship
from athletes.models.role_changes import COACHING, RoleChange
from athletes.models.two_people import A_SECOND_LOOK, a_second_person_or_a_day
from athletes.models.users import Role, User
from athletes.signals import invitation_accepted

if TYPE_CHECKING:
    from athletes.models.cohorts import Cohort

LIFETIME = dt.timedelta(days=7)
A_DAY: Final = dt.timedelta(days=1)


def digest(token: str) -> str:
    """Only the digest is stored: a copy of the database opens no door."""
    return hashlib.sha256(token.encode()).hexdigest()


NO_LONGER_WORKS: Final = (
    "This invitation does not work any more. It works once, within seven days, unless it was "
    "withdrawn. If you came in by it, sign in; otherwise ask whoever sent it for a new one."
)
INVITER_MAY_NOT: Final = (
    "Whoever sent this invitation may no longer invite here. Ask your coach for a new one."
)
SIGN_IN_FIRST: Final = (
    "The address this was mailed to already signs in here. Sign in with it first."
)
SIGNED_IN_AS_ANOTHER: Final = (
    "It was mailed to another address than yours. Sign out, and open the link in the mail once "
    "more."
)
SWITCHED_OFF: Final = (
    "Whoever signs in here with the address this was mailed to was switched off here. Ask the "
    "head coach."
)
NOT_AGREED: Final = "A parent or guardian has to agree to this own sign-in first."
NO_SECOND_COACH: Final = (
    "Another head coach has to agree to this invitation first. It is mailed to you then."
)
OWN_SIGN_IN_IS_TAKEN: Final = "This young athlete has an own sign-in already."
ANOTHER_ATHLETE: Final = (
    "This is for a young athlete’s own sign-in, and this address is another young athlete’s. Ask "
    "for an invitation to an address that nobody else has here."
)
ATHLETE_NEEDS_OWN: Final = (
    "This is for a young athlete’s own sign-in, and somebody else signs in here with this address. "
    "A young athlete needs an address of their own."
)
GUARDIAN_NEEDS_OWN: Final = (
    "This is for a parent or guardian, and a young athlete signs in here with this address. A "
    "parent or guardian needs an address of their own."
)
COACH_NEEDS_OWN: Final = (
    "This is for a coach, and a young athlete signs in here with this address. A coach needs an "
    "address of their own."
)
DECIDED_SINCE: Final = (
    "What you are here was decided since this invitation was agreed to. Ask the head coach."
)
NO_OTHER_ROLE: Final = (
    "You coach here already. Nobody’s role is changed by an invitation: ask the head coach."
)


MOST_A_DAY: Final = {Role.ATHLETE: 5, Role.GUARDIAN: 5, Role.COACH: 1000, Role.HEAD_COACH: 6000}
"""How many somebody of a role may invite in 24 hours, whatever became of the invitations. House
rule: a family is a few people, a coach's file holds a club."""


class TooManyInvitations(ValidationError):
    """In words for whoever invites."""

    def __init__(self, most: int, left: int) -> None:
        more = {0: "Go on tomorrow", 1: "One more is possible now"}
        super().__init__(
            f"At most {most} people may be invited in 24 hours. "
            f"{more.get(left, f'{left} more are possible now')}.",
            code="many",
        )


class InvitationRefused(Exception):
    """Why an invitation lets nobody in, in words for whoever holds it."""


class Step(StrEnum):
    """What whoever has opened an invitation's link has to do next."""

    GIVE_NAME = "give a name"
    ACCEPT = "accept"
    SIGN_IN = "sign in"
    SIGN_OUT = "sign out"


FAMILY: Final = {Role.GUARDIAN, Role.ATHLETE}
_NOT_YET: Final = {Step.SIGN_IN: SIGN_IN_FIRST, Step.SIGN_OUT: SIGNED_IN_AS_ANOTHER}


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

    @transaction.atomic
    def invite(
        self,
        email: str,
        role: str,
        invited_by: User,
        child: Child | None = None,
        cohort: "Cohort | None" = None,
        *,
        as_officer: bool = False,
    ) -> tuple["Invitation", str]:
        """Make an invitation; the token is returned once, to be mailed, and is not kept. Raises
        TooManyInvitations."""
        self._refuse_too_many(1, invited_by)
        invitation, token = self._made(email, role, invited_by, child, cohort)
        invitation.as_officer = as_officer
        invitation.save(force_insert=True)
        return invitation, token

    def invite_guardians(
        self, emails: Iterable[tuple[Child, str]], invited_by: User
    ) -> list[tuple["Invitation", str]]:
        """Invitations for many children's guardians in one statement, each with its token. Call it
        in a transaction. Raises TooManyInvitations, and makes none then."""
        made = [
            self._made(email, Role.GUARDIAN, invited_by, child, None) for child, email in emails
        ]
        self._refuse_too_many(len(made), invited_by)
        self.bulk_create(invitation for invitation, _ in made)
        return made

    def _refuse_too_many(self, wanted: int, by: User) -> None:
        """Keeps the inviter's row, so that two invitations at once are counted one by one."""
        User.objects.select_for_update(no_key=True).get(pk=by.pk)
        most = MOST_A_DAY.get(Role(by.role), 0)
        sent = self.filter(invited_by=by, created_at__gt=timezone.now() - A_DAY).count()
        if sent + wanted > most:
            raise TooManyInvitations(most, max(most - sent, 0))

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

    def by_two(self) -> "InvitationQuerySet":
        """Those that want a second head coach."""
        return self.filter(Q(role__in=COACHING) | Q(as_officer=True))

    def own_sign_in_of(self, child: Child, moment: dt.datetime) -> "Invitation | None":
        """What a guardian of this child may agree to, or has agreed to and the child not used."""
        asked = self.open_at(moment).filter(child=child, role=Role.ATHLETE)
        return asked.select_related("invited_by", "agreed_by", "child").first()

    def with_token(self, token: str) -> "InvitationQuerySet":
        """The one whose link this is, if any, whatever has become of it."""
        return self.filter(token_digest=digest(token))


class Invitation(models.Model):
    """A single-use, expiring door for one email address into one role."""

    token_digest = models.CharField(max_length=64, unique=True)
    email = models.EmailField()
    role = models.CharField(max_length=10, choices=Role)
    child = models.ForeignKey(Child, on_delete=models.CASCADE, null=True, blank=True)
    cohort = models.ForeignKey("athletes.Cohort", on_delete=models.CASCADE, null=True, blank=True)
    as_officer = models.BooleanField(
        default=False,
        db_default=False,
        help_text="a welfare officer, who has the account of a parent and no child",
    )
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
    agreed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="the guardian who agreed to a young athlete's own sign-in, or the head coach who "
        "agreed to a coach",
    )
    agreed_at = models.DateTimeField(null=True, blank=True)
    mail_failed_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at"]
        constraints = [
            models.CheckConstraint(
                name="family_invitation_names_its_child",
                condition=~Q(role__in=["guardian", "athlete"])
                | Q(child__isnull=False)
                | Q(as_officer=True),
            ),
            models.CheckConstraint(
                name="invitation_expires_after_it_is_made",
                condition=Q(expires_at__gt=F("created_at")),
            ),
            models.CheckConstraint(
                name="an_officers_invitation_is_about_no_child_and_no_cohort",
                condition=Q(as_officer=False)
                | Q(role=Role.GUARDIAN, child__isnull=True, cohort__isnull=True),
            ),
            models.CheckConstraint(
                name="inviting_a_coach_takes_a_second_person_or_a_day",
                condition=~(Q(role__in=COACHING) | Q(as_officer=True))
                | a_second_person_or_a_day("invited_by", "created_at", "agreed_by", "agreed_at"),
            ),
        ]

    def __str__(self) -> str:
        return f"invitation as {self.as_what}"

    @property
    def mail_state(self) -> str:
        """What became of its mail, "" once it has left. Of `with_mail()`."""
        if self.mail_failed_at:
            return "its mail could not be delivered: check the address"
        return "its mail is on its way" if getattr(self, "mail_waits", False) else ""

    @property
    def as_what(self) -> str:
        return "welfare officer" if self.as_officer else self.get_role_display()

    @property
    def is_by_two(self) -> bool:
        """Whether it wants a second head coach."""
        return self.as_officer or self.role in COACHING

    @property
    def waits_for_agreement(self) -> bool:
        """It is only asked for until somebody agrees: a guardian to a young athlete's own sign-in,
        a second head coach to a coach or welfare officer."""
        return (self.is_by_two or self.role == Role.ATHLETE) and self.agreed_at is None

    @property
    def waits_for_head_coach(self) -> bool:
        return self.is_by_two and self.waits_for_agreement

    def waits_for(self, user: User, now: dt.datetime) -> bool:
        """Whether it may be this head coach's to agree to."""
        is_theirs = user.pk != self.invited_by_id or now >= self.holds_alone_at
        return self.waits_for_head_coach and is_theirs

    @property
    def holds_alone_at(self) -> dt.datetime:
        """From when on it needs nobody else where there is no second head coach."""
        return self.created_at + A_SECOND_LOOK

    def agree(self, by: User | None, moment: dt.datetime) -> str | None:
        """The token, to be mailed; None where somebody else has agreed or it was taken back
        meanwhile."""
        token = secrets.token_urlsafe(32)
        asked = Invitation.objects.open_at(moment).filter(pk=self.pk, agreed_at__isnull=True)
        agreed = asked.update(
            agreed_by=by,
            agreed_at=moment,
            token_digest=digest(token),
            expires_at=moment + LIFETIME,
        )
        if not agreed:
            return None
        self.agreed_by, self.agreed_at = by, moment
        return token

    def account(self) -> User | None:
        """Whoever signs in with its address."""
        return User.objects.filter(email__iexact=self.email).first()

    def step_for(self, visitor: User | None, moment: dt.datetime) -> Step:
        """What is next for whoever has opened the link, signed in as `visitor` or not at all.
        Raises InvitationRefused where it opens nothing for its address."""
        if not Invitation.objects.open_at(moment).filter(pk=self.pk).exists():
            raise InvitationRefused(NO_LONGER_WORKS)
        if self.waits_for_agreement:
            raise InvitationRefused(NO_SECOND_COACH if self.is_by_two else NOT_AGREED)
        if not self._inviter_still_may(timezone.localdate(moment)):
            raise InvitationRefused(INVITER_MAY_NOT)
        account = self.account()
        if refusal := self._refusal_to(account):
            raise InvitationRefused(refusal)
        if visitor:
            return Step.ACCEPT if visitor == account else Step.SIGN_OUT
        return Step.SIGN_IN if account else Step.GIVE_NAME

    @transaction.atomic
    def accept(self, moment: dt.datetime, *, visitor: User | None = None, name: str = "") -> User:
        """Use the invitation once: as `visitor`, who is signed in with its address, or with a new
        account of this name. An invitation signs nobody in who has an account.

        Raises InvitationRefused: to anybody else, of two simultaneous uses to the second, and where
        whoever invited may do so no longer.
        """
        self._locked_with_its_people()
        step = self.step_for(visitor, moment)
        if step in _NOT_YET:
            raise InvitationRefused(_NOT_YET[step])
        if not Invitation.objects.open_at(moment).filter(pk=self.pk).update(used_at=moment):
            raise InvitationRefused(NO_LONGER_WORKS)
        user = visitor or self._new_account(name)
        if self.role in COACHING and user.role != self.role:
            self._begin_to_coach(user, moment)
        self._open_doors_for(user)
        Invitation.objects.filter(pk=self.pk).update(accepted_by=user)
        invitation_accepted.send(sender=Invitation, invitation=self, person=user, at=moment)
        return user

    def _new_account(self, name: str) -> User:
        """A family is asked about mail at its first visit, and mailed nothing before."""
        details = {"name": name, "role": self.role, "wants_mail": self.role not in FAMILY}
        try:
            with transaction.atomic():
                return User.objects.create_user(self.email, **details)
        except IntegrityError:  # another invitation to this address, at this moment
            raise InvitationRefused(SIGN_IN_FIRST) from None

    def _begin_to_coach(self, parent: User, moment: dt.datetime) -> None:
        """Who agreed to the invitation has agreed to the role."""
        parent.role_changes.waiting().end(None, moment)
        change = RoleChange.objects.create(
            person=parent,
            was=parent.role,
            role=self.role,
            asked_by=self.invited_by,
            asked_at=self.created_at,
            agreed_by=self.agreed_by,
            agreed_at=self.agreed_at,
        )
        change.take_effect(parent, moment)

    def _refusal_to(self, account: User | None) -> str:
        """Why it opens nothing for whoever signs in with its address, "" where it does."""
        if account and not account.is_active:
            return SWITCHED_OFF
        match self.role:
            case Role.ATHLETE:
                return self._refusal_of_own_sign_in(account)
            case Role.GUARDIAN:
                is_athlete = account and account.role == Role.ATHLETE
                return GUARDIAN_NEEDS_OWN if is_athlete else ""
            case _:
                return self._refusal_to_coach(account)

    def _refusal_to_coach(self, account: User | None) -> str:
        """A parent may coach besides, with the same address."""
        if account is None or account.role == self.role:
            return ""
        if account.is_athlete:
            return COACH_NEEDS_OWN
        if account.is_coach:
            return NO_OTHER_ROLE
        since = account.role_changes.filter(agreed_at__gte=self.agreed_at)
        return DECIDED_SINCE if since.exists() else ""

    def _refusal_of_own_sign_in(self, account: User | None) -> str:
        if account and account.role != Role.ATHLETE:
            return ATHLETE_NEEDS_OWN
        if Child.objects.filter(invitation=self, user__isnull=False).exists():
            return OWN_SIGN_IN_IS_TAKEN
        if account and Child.objects.filter(user=account).exists():
            return ANOTHER_ATHLETE
        return ""

    def _locked_with_its_people(self) -> None:
        """Keep inviter, account and child as they are until the end of the transaction: switching
        off and ending an enrolment wait. Removing a guardian waits for the invitation itself."""
        people = Q(pk=self.invited_by_id) | Q(email__iexact=self.email)
        list(User.objects.filter(people).order_by("pk").select_for_update(no_key=True))
        list(Child.objects.filter(invitation=self).select_for_update(no_key=True))

    def _inviter_still_may(self, today: dt.date) -> bool:
        """Whether whoever invited may let this person in on this day."""
        inviter = User.objects.get(pk=self.invited_by_id)
        if self.child_id is None:
            return inviter.is_active and inviter.is_head_coach
        children = Child.objects.filter(invitation=self)
        return children.open_to_invitations_by(inviter, self.role, today).exists()

    def _open_doors_for(self, user: User) -> None:
        if self.child and self.role == Role.GUARDIAN:
            Guardianship.objects.get_or_create(child=self.child, guardian=user)
        if self.child and self.role == Role.ATHLETE:
            Child.objects.filter(pk=self.child.pk).update(user=user)
        if self.cohort and self.role == Role.COACH:
            self.cohort.coaches.add(user)
