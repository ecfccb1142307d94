"""Somebody opens the link of an invitation, as it was mailed, and accepts."""

import re

from django.core.mail import EmailMessage
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import Invitation, Role, User

PAGE = "athletes:invitation"


def invitations_in(mails: list[EmailMessage]) -> list[EmailMessage]:
    """Without the notices to family and coaches."""
    return [mail for mail in mails if mail.subject == "You are invited to Fledge"]


def link_in(mail: EmailMessage) -> str:
    """The path of the link, without our host."""
    (path,) = re.findall(r"^http://testserver(/invitation/\S+)$", mail.body, re.M)
    return path


def open_link(client: Client, token: str) -> HttpResponse:
    """The page one is led to."""
    return client.get(reverse("athletes:accept", args=[token]), follow=True)


def come_in(client: Client, path: str, name: str) -> HttpResponse:
    client.get(path)
    return client.post(reverse(PAGE), {"name": name})


def agreed(invitation: Invitation) -> str:
    """The token of one to coach, once a second head coach has agreed."""
    second = User.objects.create_user(
        f"second{invitation.pk}@x.example", name="Second", role=Role.HEAD_COACH
    )
    return invitation.agree(second, timezone.now()) or ""
