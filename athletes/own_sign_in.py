"""A guardian ends a young athlete's own sign-in, or begins it anew.

The account goes, and its address with it; what was logged and asked by it stays with the child. The
athlete, the other guardians and the coaches are told: nobody is to be cut off unseen.
"""

from typing import TYPE_CHECKING, Final

from django.db import transaction
from django.db.models import Q
from django.template.loader import render_to_string
from django.utils import timezone

from athletes.invitation_mail import OWN_SIGN_IN, mail_invitations
from athletes.mailing import send_after_commit, written_mail
from athletes.models import Child, Invitation, OutgoingMail, Role, User
from athletes.models.role_changes import COACHING
from library.shared.acting import acting_unnamed

if TYPE_CHECKING:
    from library.shared.access import Request

MAILS: Final = "athletes/mail/own_sign_in_"


def may_be_ended(child: Child) -> bool:
    """Not what a head coach has switched off, and not where there is none."""
    return bool(child.user and child.user.is_active)


@transaction.atomic
def end(child: Child, by: User) -> bool:
    """Signed out everywhere with the account; False where there is nothing to end."""
    locked = Child.objects.select_for_update(of=("self",), no_key=True).select_related("user")
    held = locked.get(pk=child.pk)
    account = held.user
    if account is None or not may_be_ended(held):
        return False
    Invitation.objects.filter(child=held, role=Role.ATHLETE).withdraw(timezone.now())
    OutgoingMail.objects.filter(to__iexact=account.email).delete()
    with acting_unnamed():  # also where it is named and nobody may know of it, as in a concern
        account.delete()
    _tell("ended", held, by, [*_others(held, by), account])
    return True


@transaction.atomic
def begin(request: "Request", invitation: Invitation, child: Child) -> None:
    """Mail an invitation that a guardian has just made, and thereby agreed to."""
    by = request.user
    token = invitation.agree(by, timezone.now())
    if token:
        mail_invitations(request, [(invitation, token)])
        _tell("begun", child, by, _others(child, by))


def _others(child: Child, by: User) -> list[User]:
    running = child.enrolments.in_force(timezone.localdate()).values("cohort")
    coaches = Q(cohorts__in=running, role__in=COACHING)
    people = User.objects.filter(Q(pk__in=child.family_told()) | coaches, is_active=True)
    return list(people.exclude(pk=by.pk).distinct())


def _tell(what: str, child: Child, by: User, people: list[User]) -> None:
    """Whether they want mails or not."""
    body = render_to_string(f"{MAILS}{what}.txt", {"given_name": child.given_name, "by": by.name})
    send_after_commit([written_mail(each.email, OWN_SIGN_IN, body) for each in people])
