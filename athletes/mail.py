"""Mails about people. Subjects carry no child's data, and bodies no more than the given name."""

from collections.abc import Iterable

from django.core.mail import EmailMessage, mailers
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from athletes.models import Invitation


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
