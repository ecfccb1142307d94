"""The one door through which Fledge mails. No request waits for a mail server.

A mail is written in the transaction of what it tells of, and the worker sends it: at once, and
again, after pauses that grow, while the mail server is away.
"""

import datetime as dt
import logging
import re
from collections.abc import Iterable, Sequence
from smtplib import SMTPRecipientsRefused, SMTPResponseException
from typing import TYPE_CHECKING, Any, Final

from django.conf import settings
from django.core import signing
from django.core.mail import mailers
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from procrastinate.contrib.django import app

from athletes.models import Invitation, OutgoingMail, User
from athletes.models.outgoing_mail import CODE_HOLDS, PATIENCE
from library.shared.acting import acting_for_the_program
from library.shared.task_queue import Queue, enqueue, task

if TYPE_CHECKING:
    from django.http import HttpRequest

to_operator = logging.getLogger("fledge.operator")
SALT: Final = "athletes.post.stop"
BEFORE_OTHERS: Final = 10
"""The priority of a sign-in code: somebody looks at a page and waits for it."""
CODE_IS_LATE: Final = dt.timedelta(minutes=1)


def send_after_commit(mails: Sequence[OutgoingMail], priority: int = 0) -> None:
    """Have these mails sent once the transaction under way is committed. What is mailed to another
    is nothing that its writer may read."""
    if mails:
        with acting_for_the_program():
            OutgoingMail.objects.bulk_create(mails)
        enqueue(send_mails, priority=priority, mails=[each.pk for each in mails])


def written_mail(
    to: str,
    subject: str,
    body: str,
    headers: dict[str, str] | None = None,
    invitation: Invitation | None = None,
) -> OutgoingMail:
    now = timezone.now()
    return OutgoingMail(
        to=to,
        subject=subject,
        body=body,
        headers=headers or {},
        invitation=invitation,
        written_at=now,
        give_up_at=now + PATIENCE,
    )


def notify(
    request: "HttpRequest",
    people: Iterable[User],
    subject: str,
    template: str,
    context: dict[str, Any],
) -> None:
    """Tell these people once what the request does is committed; call it in that transaction. The
    subject holds no child's data, and the template no more than a given name and a link."""
    notify_each(request, [(person, context) for person in people], subject, template)


def notify_each(
    request: "HttpRequest",
    notices: Iterable[tuple[User, dict[str, Any]]],
    subject: str,
    template: str,
) -> None:
    """As `notify`, with something of their own for each."""
    origin = origin_of(request)
    send_after_commit(
        [
            notice(origin, person, subject, template, context)
            for person, context in notices
            if person.is_active and person.wants_mail
        ]
    )


def origin_of(request: "HttpRequest") -> str:
    """Scheme and host of the site, for what leaves it: mails, sheets and calendars. A club is at
    the usual port, whichever one a visitor's browser has named."""
    origin = request.build_absolute_uri("/").removesuffix("/")
    return origin if settings.ON_THIS_MACHINE_ONLY else re.sub(r":\d*$", "", origin)


def link_to(request: "HttpRequest", path: str) -> str:
    return origin_of(request) + path


def notice(
    origin: str, person: User, subject: str, template: str, context: dict[str, Any]
) -> OutgoingMail:
    """A mail to a person, whether they want any or not, with the one-click stop of RFC 8058."""
    stop = origin + reverse("athletes:stop_mail", args=[stop_token(person)])
    body = render_to_string(template, context | {"stop": stop, "person": person})
    headers = {
        "List-Unsubscribe": f"<{stop}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        "Auto-Submitted": "auto-generated",
    }
    return written_mail(person.email, subject, body, headers)


@transaction.atomic
def send_code(to: str, subject: str, body: str) -> None:
    """Have a sign-in code sent before all other mails. With an empty `to` nobody gets one, and it
    takes as long: whoever asks must not learn who is a member."""
    mail = written_mail(to, subject, body)
    mail.is_code, mail.give_up_at = True, mail.written_at + CODE_HOLDS
    send_after_commit([mail], BEFORE_OTHERS)


@task("athletes.send_mails", Queue.MAIL)
def send_mails(mails: list[int]) -> None:
    """Send those of these mails that have not left yet, over one connection. Raises what the mail
    server failed with, for another try."""
    _give_up(mails)
    waiting = OutgoingMail.objects.filter(pk__in=mails)
    waiting.filter(to="").delete()
    keys = list(waiting.values_list("pk", flat=True))
    if not keys:
        return
    server = mailers.default
    server.open()
    try:
        failed = [failure for key in keys if (failure := _send(key, server))]
    finally:
        server.close()
    if failed:
        raise failed[-1]


def _send(key: int, server: BaseEmailBackend) -> Exception | None:
    """Send one mail, unless another worker is at it; what it failed with where it is to be tried
    again. Raises where the server itself is away, since the next would fare no better."""
    with transaction.atomic():
        mail = OutgoingMail.objects.select_for_update(skip_locked=True).filter(pk=key).first()
        if mail is None:
            return None
        try:
            server.send_messages([mail.as_message()])
        except (SMTPResponseException, SMTPRecipientsRefused, ValueError) as refused:
            if not _is_final(refused):
                return refused
            _note_refused(mail, type(refused).__name__)
        mail.delete()
    return None


def _is_final(refused: Exception) -> bool:
    """Whether the answer was a 5xx, which RFC 5321 (4.2.1) says not to ask again, or the address is
    none."""
    match refused:
        case SMTPRecipientsRefused():
            return all(code >= 500 for code, _ in refused.recipients.values())
        case SMTPResponseException():
            return refused.smtp_code >= 500
        case _:
            return True


def _give_up(mails: list[int]) -> None:
    for mail in OutgoingMail.objects.filter(pk__in=mails).given_up_at(timezone.now()):
        with transaction.atomic():
            _note_refused(mail, "no mail server in time")
            mail.delete()


def _note_refused(mail: OutgoingMail, why: str) -> None:
    """The log says that, and to nobody whom; whoever invited sees it beside the invitation."""
    to_operator.error("A mail was given up: %s", why)
    if mail.invitation_id:
        Invitation.objects.filter(pk=mail.invitation_id).update(mail_failed_at=timezone.now())


@app.periodic(cron="* * * * *")
@task("athletes.tell_of_late_codes", Queue.CHANGES)
def tell_of_late_codes(timestamp: int) -> None:
    """Somebody waits in front of a page for a code that has not left: an operator is told."""
    if OutgoingMail.objects.late_codes(timezone.now(), CODE_IS_LATE).exists():
        to_operator.error("A sign-in code waits for the mail server for over a minute")


def stop_token(person: User) -> str:
    """Opens nothing but the stopping of this person's mails."""
    return signing.dumps(person.pk, salt=SALT)


def person_of(token: str) -> User | None:
    try:
        person_id = signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return None
    return User.objects.filter(pk=person_id).first()
