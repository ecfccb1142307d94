"""Sending families an invitation once more, to the address it went to."""

import datetime as dt
from collections.abc import Collection, Iterable

from athletes.invitation_mail import mail_invitations
from athletes.models import Child, Invitation, Role
from library.shared.access import Request


def invite_again(
    request: Request, children: Iterable[Child], today: dt.date
) -> dict[int, list[int]]:
    """Mail a new invitation to each address whose owner was invited as a guardian of these children
    and has not come; the first one goes on working. By the child's key the new ones' keys. Call it
    in a transaction. Raises TooManyInvitations, and sends none then."""
    by = request.user
    open_to = Child.objects.open_to_invitations_by(by, Role.GUARDIAN, today)
    waiting = Invitation.objects.unused().filter(
        role=Role.GUARDIAN, child__in=open_to.filter(pk__in=[child.pk for child in children])
    )
    whom = {(each.child, each.email): None for each in waiting.select_related("child")}
    made = Invitation.objects.invite_guardians(
        [(child, email) for child, email in whom if child], by
    )
    mail_invitations(request, made)
    found: dict[int, list[int]] = {}
    for invitation, _ in made:
        if invitation.child_id:
            found.setdefault(invitation.child_id, []).append(invitation.pk)
    return found


def take_back_invitations(keys: Collection[int], now: dt.datetime) -> bool:
    """Have these let nobody in any more; False where somebody came in by one of them."""
    sent = Invitation.objects.filter(pk__in=keys)
    if sent.filter(used_at__isnull=False).exists():
        return False
    sent.withdraw(now)
    return True
