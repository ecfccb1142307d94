import datetime as dt
from typing import TYPE_CHECKING, Final

from django.core.mail import EmailMessage
from django.core.mail.message import make_msgid
from django.db import models

from athletes.models.invitations import Invitation

if TYPE_CHECKING:
    from athletes.models.users import User

PATIENCE: Final = dt.timedelta(days=3)
"""How long the mail server may be away before a mail is given up. RFC 5321, 4.5.4.1, asks four to
five days of a mail server; we are only its client, and what we mail is soon out of date."""

CODE_HOLDS: Final = dt.timedelta(minutes=3)
"""How long a sign-in code is good for: allauth's LOGIN_BY_CODE_TIMEOUT."""


def message_id() -> str:
    return make_msgid(domain="fledge")


class OutgoingMailQuerySet(models.QuerySet["OutgoingMail"]):
    def visible_to(self, user: "User") -> "OutgoingMailQuerySet":
        """Nobody reads them here; they are for whoever they are sent to."""
        return self.none()

    def given_up_at(self, moment: dt.datetime) -> "OutgoingMailQuerySet":
        return self.filter(give_up_at__lte=moment)

    def late_codes(self, moment: dt.datetime, after: dt.timedelta) -> "OutgoingMailQuerySet":
        """Sign-in codes somebody has been waiting for since `after`."""
        return self.filter(is_code=True, written_at__lte=moment - after).exclude(to="")


class OutgoingMail(models.Model):
    """A mail that has not left yet, written with the change it is about. The row goes when the mail
    has left.

    `to` is empty for what nobody gets: somebody who is no member asked for a code, and the answer
    takes as long as a member's. A mail that was sent, and whose row a kill left here, is sent
    again under the same `message_id`, by which mail programs know it for the same.
    """

    to = models.EmailField(blank=True)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    headers = models.JSONField(default=dict)
    message_id = models.CharField(max_length=200, default=message_id)
    is_code = models.BooleanField(default=False)
    invitation = models.ForeignKey(
        Invitation,
        on_delete=models.CASCADE,
        null=True,
        related_name="mails",
        help_text="one that is withdrawn is not mailed",
    )
    written_at = models.DateTimeField()
    give_up_at = models.DateTimeField()

    objects = OutgoingMailQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.subject

    def as_message(self) -> EmailMessage:
        headers = {**self.headers, "Message-ID": self.message_id}
        return EmailMessage(self.subject, self.body, None, [self.to], headers=headers)
