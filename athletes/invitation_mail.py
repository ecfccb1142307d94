"""Mails about people. Subjects carry no child's data, and bodies no more than the given name. Each
is written in the transaction of what it tells of."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

from django.db.models import Q
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from athletes.mailing import (
    link_to,
    notice,
    notify,
    origin_of,
    send_after_commit,
    written_mail,
)
from athletes.models import AccessRules, Child, Guardianship, Invitation, OutgoingMail, User
from athletes.models.children import born_by
from athletes.models.role_changes import COACHING

OWN_SIGN_IN: Final = "About an own sign-in to Fledge"
INVITED: Final = "athletes/mail/guardian_invited.txt"


def mail_invitations(request: HttpRequest, invitations: Iterable[tuple[Invitation, str]]) -> None:
    """Mail each invitation, given with its token, to its own address."""
    origin, club = origin_of(request), AccessRules.objects.current().club_name
    send_after_commit([invitation_mail(origin, club, *each) for each in invitations])


def mail_family_invitation(request: HttpRequest, invitation: Invitation, token: str) -> None:
    """Mail it, or ask the guardians where it is for the child itself."""
    if invitation.child is None:
        return
    if invitation.waits_for_agreement and _asks_nobody(invitation):
        token = invitation.agree(invitation.invited_by, timezone.now()) or token
    if invitation.waits_for_agreement:
        _ask_guardians(request, invitation, invitation.child)
        return
    mail_invitations(request, [(invitation, token)])
    _tell_of_guardian(request, invitation, invitation.child)


def _asks_nobody(invitation: Invitation) -> bool:
    """An athlete of 18 is asked for by a head coach, and by no guardian any more."""
    child, by = invitation.child, invitation.invited_by
    return bool(child and by.is_head_coach and child.birth_date <= born_by(timezone.localdate()))


def _ask_guardians(request: HttpRequest, invitation: Invitation, child: Child) -> None:
    """Whether they want mail or not: nothing happens before one of them agrees."""
    link = request.build_absolute_uri(reverse("athletes:own_sign_in", args=[child.public_id]))
    context = {"given_name": child.given_name, "by": invitation.invited_by.name, "link": link}
    template = "athletes/mail/own_sign_in_asked.txt"
    asked = child.guardians.filter(is_active=True)
    send_after_commit(
        [notice(origin_of(request), each, OWN_SIGN_IN, template, context) for each in asked]
    )


def tell_of_own_sign_in(
    request: HttpRequest, invitation: Invitation, by: User, *, is_agreed: bool
) -> None:
    """Tell whoever asked, and the other guardians, what one of them said."""
    hearing = User.objects.filter(
        Q(guardianships__child=invitation.child) | Q(pk=invitation.invited_by_id)
    )
    given_name = invitation.child.given_name if invitation.child else ""
    context = {"given_name": given_name, "by": by.name, "is_agreed": is_agreed}
    others = hearing.exclude(pk=by.pk).distinct()
    notify(request, others, OWN_SIGN_IN, "athletes/mail/own_sign_in_answered.txt", context)


def _tell_of_guardian(request: HttpRequest, invitation: Invitation, child: Child) -> None:
    """Have the family and the coaches hear of a new guardian and who invited; not to which address,
    which is nobody's business yet."""
    running = child.enrolments.in_force(timezone.localdate()).values("cohort")
    hearing = User.objects.filter(
        Q(pk__in=child.family_told()) | Q(cohorts__in=running, role__in=COACHING)
    )
    others = hearing.exclude(pk=invitation.invited_by_id).distinct()
    context = {"given_name": child.given_name, "by": invitation.invited_by.name}
    notify(request, others, "Somebody is invited to Fledge", INVITED, context)


def invitation_mail(origin: str, club: str, invitation: Invitation, token: str) -> OutgoingMail:
    """`club` is what families know the program by, or empty."""
    link = origin + reverse("athletes:accept", args=[token])
    context = {"invitation": invitation, "club": club, "link": link}
    body = render_to_string("athletes/mail/invitation.txt", context)
    return written_mail(invitation.email, "You are invited to Fledge", body, invitation=invitation)


def ask_about_kit(request: HttpRequest, children: Sequence[Child]) -> list[Child]:
    """Ask whoever of each family wants mail what is at home, in a fixed number of queries; who of
    the children has somebody that is asked. In a transaction."""
    asked = _who_wants_mail(children)
    send_after_commit(
        [
            written_mail(address, "What is at home?", _about_kit(request, child))
            for child in children
            for address in asked[child.pk]
        ]
    )
    reached = [child for child in children if asked[child.pk]]
    Child.objects.filter(pk__in=[each.pk for each in reached]).update(kit_asked_at=timezone.now())
    return reached


def _about_kit(request: HttpRequest, child: Child) -> str:
    link = link_to(request, reverse("athletes:kit", args=[child.public_id]))
    return render_to_string("athletes/mail/ask_about_kit.txt", {"child": child, "link": link})


def _who_wants_mail(children: Iterable[Child]) -> dict[int, list[str]]:
    """By child, the addresses of whoever `Child.family_told` names and is to be mailed."""
    addresses: dict[int, list[str]] = defaultdict(list)
    keys = [child.pk for child in children]
    reading = Guardianship.objects.reading().filter(child__in=keys)
    wanting = reading.filter(guardian__is_active=True, guardian__wants_mail=True)
    for child, address in wanting.order_by("pk").values_list("child", "guardian__email"):
        addresses[child].append(address)
    grown_up = Child.objects.filter(pk__in=keys, birth_date__lte=born_by(timezone.localdate()))
    themselves = grown_up.filter(user__is_active=True, user__wants_mail=True)
    for child, address in themselves.values_list("pk", "user__email"):
        addresses[child].append(address)
    return addresses
