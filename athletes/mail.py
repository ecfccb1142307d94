"""Mails about people. Subjects carry no child's data, and bodies no more than the given name."""

from django.core.mail import send_mail
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.urls import reverse

from athletes.models import Invitation


def send_invitation(request: HttpRequest, invitation: Invitation, token: str) -> None:
    link = request.build_absolute_uri(reverse("athletes:accept", args=[token]))
    body = render_to_string(
        "athletes/mail/invitation.txt", {"invitation": invitation, "link": link}
    )
    send_mail("You are invited to Fledge", body, None, [invitation.email])
