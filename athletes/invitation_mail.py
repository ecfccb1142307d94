"""Mails about people. Subjects carry no child's data, and bodies no more than the given name."""

from collections.abc import Iterable
from typing import Final

from django.core.mail import EmailMessage
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from athletes.mailing import deliver
from athletes.models import Child, Invitation

NOT_SENT: Final = "The mail could not be sent just now. Try again later."


def send_invitation(request: HttpRequest, invitation: Invitation, token: str) -> bool:
    return send_invitations(request, [(invitation, token)])


def send_invitations(request: HttpRequest, invitations: Iterable[tuple[Invitation, str]]) -> bool:
    """Each to its own address, all over one connection. Where the mail server did not take them
    they are of no use to anyone and are withdrawn: False."""
    made = list(invitations)
    if deliver(_mail(request, *each) for each in made):
        return True
    Invitation.objects.filter(pk__in=[each.pk for each, _ in made]).delete()
    return False


def _mail(request: HttpRequest, invitation: Invitation, token: str) -> EmailMessage:
    link = request.build_absolute_uri(reverse("athletes:accept", args=[token]))
    body = render_to_string(
        "athletes/mail/invitation.txt", {"invitation": invitation, "link": link}
    )
    return EmailMessage("You are invited to Fledge", body, None, [invitation.email])


def ask_about_kit(request: HttpRequest, child: Child) -> int | None:
    """Ask each guardian what is at home; the number of people asked, None where the mail server
    took nothing."""
    link = request.build_absolute_uri(reverse("athletes:kit", args=[child.public_id]))
    body = render_to_string("athletes/mail/ask_about_kit.txt", {"child": child, "link": link})
    addresses = list(child.guardians.filter(is_active=True).values_list("email", flat=True))
    mails = [EmailMessage("What is at home?", body, None, [address]) for address in addresses]
    return len(mails) if deliver(mails) else None
