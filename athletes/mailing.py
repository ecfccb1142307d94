"""The one door through which Fledge mails. A mail server that is away fails no request.

Mails about what happened (`notify`) go out after the commit, to those who have not stopped them,
and stop by one click as RFC 8058 has it. Invitations go out at once: nobody can use one that was
not mailed, so whoever sent it is told.
"""

import logging
from collections.abc import Iterable
from smtplib import SMTPException
from typing import TYPE_CHECKING, Any, Final

from django.core import signing
from django.core.mail import EmailMessage, mailers
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse

from athletes.models.users import User

if TYPE_CHECKING:
    from django.http import HttpRequest

log = logging.getLogger(__name__)
SALT: Final = "athletes.post.stop"


def deliver(mails: Iterable[EmailMessage]) -> bool:
    """Send all over one connection, now. False where the mail server did not take them; never
    raises for that. The log says how many, and to nobody whom."""
    ready = list(mails)
    try:
        if ready:
            mailers.default.send_messages(ready)
    except (OSError, SMTPException) as failed:
        log.warning("%d mails were not sent: %s", len(ready), type(failed).__name__)
        return False
    return True


def notify(
    request: "HttpRequest",
    people: Iterable[User],
    subject: str,
    template: str,
    context: dict[str, Any],
) -> None:
    """Tell these people once what the request does is committed. The subject holds no child's
    data, and the template no more than a given name and a link."""
    notify_each(request, [(person, context) for person in people], subject, template)


def notify_each(
    request: "HttpRequest",
    notices: Iterable[tuple[User, dict[str, Any]]],
    subject: str,
    template: str,
) -> None:
    """As `notify`, with something of their own for each, all over one connection."""
    mails = [
        _notice(request, person, subject, template, context)
        for person, context in notices
        if person.is_active and person.wants_mail
    ]
    transaction.on_commit(lambda: deliver(mails), robust=True)


def _notice(
    request: "HttpRequest", person: User, subject: str, template: str, context: dict[str, Any]
) -> EmailMessage:
    stop = request.build_absolute_uri(reverse("athletes:stop_mail", args=[stop_token(person)]))
    body = render_to_string(template, context | {"stop": stop, "person": person})
    headers = {
        "List-Unsubscribe": f"<{stop}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        "Auto-Submitted": "auto-generated",
    }
    return EmailMessage(subject, body, None, [person.email], headers=headers)


def stop_token(person: User) -> str:
    """Opens nothing but the stopping of this person's mails."""
    return signing.dumps(person.pk, salt=SALT)


def person_of(token: str) -> User | None:
    try:
        person_id = signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return None
    return User.objects.filter(pk=person_id).first()
