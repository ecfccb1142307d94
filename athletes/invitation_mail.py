"""Mails about people. Subjects carry no child's data, and bodies no more than the given name. Each
is written in the transaction of what it tells of."""

from collections.abc import Iterable

from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from athletes.mailing import link_to, send_after_commit, written_mail
from athletes.models import Child, Invitation, OutgoingMail


def mail_invitations(request: HttpRequest, invitations: Iterable[tuple[Invitation, str]]) -> None:
    """Mail each invitation, given with its token, to its own address."""
    send_after_commit([_mail(request, *each) for each in invitations])


def _mail(request: HttpRequest, invitation: Invitation, token: str) -> OutgoingMail:
    link = link_to(request, reverse("athletes:accept", args=[token]))
    body = render_to_string(
        "athletes/mail/invitation.txt", {"invitation": invitation, "link": link}
    )
    return written_mail(invitation.email, "You are invited to Fledge", body, invitation=invitation)


def ask_about_kit(request: HttpRequest, child: Child) -> int:
    """Ask each guardian what is at home; the number of people who get the mail."""
    link = link_to(request, reverse("athletes:kit", args=[child.public_id]))
    body = render_to_string("athletes/mail/ask_about_kit.txt", {"child": child, "link": link})
    addresses = list(child.guardians.filter(is_active=True).values_list("email", flat=True))
    send_after_commit([written_mail(address, "What is at home?", body) for address in addresses])
    return len(addresses)
