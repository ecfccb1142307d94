"""What the worker does by the clock."""

import logging

from django.contrib.sessions.models import Session as SignIn
from django.utils import timezone
from procrastinate.contrib.django import app

from athletes.mailing import CODE_IS_LATE
from athletes.models import OutgoingMail
from library.shared.task_queue import Queue, task
from program.models import IdempotencyKey
from program.publish.closing import sweep

log = logging.getLogger(__name__)


@app.periodic(cron="17 3 * * *")
@task("program.nightly", Queue.CHANGES)
def nightly(timestamp: int) -> None:
    check_the_invariant()
    now = timezone.now()
    SignIn.objects.filter(expire_date__lt=now).delete()
    IdempotencyKey.objects.forgotten(now).delete()


@task("program.check_the_invariant", Queue.CHANGES)
def check_the_invariant() -> None:
    """No child holds a published session that its facts forbid: asked of everybody when a worker
    starts, every night and after a restore. What is found is closed and chosen anew."""
    if found := sweep(timezone.now(), timezone.localdate()):
        log.error("%d children held a session that their facts forbid; it is chosen anew", found)


@app.periodic(cron="* * * * *")
@task("program.tell_of_late_codes", Queue.CHANGES)
def tell_of_late_codes(timestamp: int) -> None:
    """Somebody waits in front of a page for a code that has not left: an operator is told."""
    late = OutgoingMail.objects.late_codes(timezone.now(), CODE_IS_LATE).count()
    if late:
        log.error("%d sign-in codes have waited for the mail server for over a minute", late)
