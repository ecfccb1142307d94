"""Mails about people. Subjects carry no child's data, and bodies no more than the given name."""

from collections.abc import Iterable

from django.core.mail import EmailMessage, mailers
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from athletes.models import Child, Invitation


def send_invitation(request: HttpRequest, invitation: Invitation, token: str) -> None:
    send_invitations(request, [(invitation, token)])


def send_invitations(request: HttpRequest, invitations: Iterable[tuple[Invitation, str]]) -> None:
    """Each to its own address, all over one connection."""
    mailers.default.send_messages([_mail(request, *each) for each in invitations])


def _mail(request: HttpRequest, invitation: Invitation, token: str) -> EmailMessage:
    link = request.build_absolute_uri(reverse("athletes:accept", args=[token]))
    body = render_to_string(
        "athletes/mail/invitation.txt", {"invitation": invitation, "link": link}
    )
    return EmailMessage("You are invited to Fledge", body, None, [invitation.email])


def ask_about_kit(request: HttpRequest, child: Child) -> int:
    """Ask each guardian what is at home; the number of people asked."""
    link = request.build_absolute_uri(reverse("athletes:kit", args=[child.public_id]))
    body = render_to_string("athletes/mail/ask_about_kit.txt", {"child": child, "link": link})
    addresses = list(child.guardians.filter(is_active=True).values_list("email", flat=True))
    mails = [EmailMessage("What is at home?", body, None, [address]) for address in addresses]
    mailers.default.send_messages(mails)
    return len(mails)
