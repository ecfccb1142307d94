"""What changes at 18 is told a month before and on the day: to the athlete and the guardians, and
to the head coaches where there is no own sign-in, since all stays as it was then."""

import datetime as dt
from typing import Final

from django.db import transaction
from django.db.models import Q
from django.template.loader import render_to_string
from django.utils import timezone
from procrastinate.contrib.django import app

from athletes.head_coaches import other_head_coaches
from athletes.mailing import send_after_commit, written_mail
from athletes.models import Child, OutgoingMail, User
from athletes.models.children import born_by
from library.shared.task_queue import Queue, task

BEFORE: Final = dt.timedelta(days=30)
"""So long before it is told, and the athlete may say who reads on."""


def asks_who_reads(child: Child, today: dt.date) -> bool:
    return child.birth_date <= born_by(today + BEFORE)


@app.periodic(cron="23 4 * * *")
@task("athletes.tell_of_turning_18", Queue.CHANGES)
def tell_tonight(timestamp: int) -> None:
    tell_of_turning_18(timezone.localdate())


@transaction.atomic
def tell_of_turning_18(today: dt.date) -> None:
    """Each is told of once before and once on the day or, where no worker was there, after it."""
    told_before_the_day = Q(told_of_18_on__isnull=True)
    soon = Child.objects.filter(told_before_the_day, birth_date__lte=born_by(today + BEFORE))
    since = Child.objects.filter(birth_date__lte=born_by(today), told_of_18_on__isnull=False)
    for child in soon.select_for_update(of=("self",)).select_related("user"):
        _tell(child, today)
    for child in since.select_for_update(of=("self",)).select_related("user"):
        if born_by(child.told_of_18_on or today) < child.birth_date:
            _tell(child, today)


def _tell(child: Child, today: dt.date) -> None:
    context = {"child": child, "is_18": child.birth_date <= born_by(today)}
    people = [*child.guardians.filter(is_active=True)]
    mails = [_mail(each, "guardian", context) for each in people]
    if child.user and child.user.is_active:
        mails.append(_mail(child.user, "athlete", context))
    elif child.user is None and child.enrolments.in_force(today).exists():
        mails += [_mail(each, "head_coach", context) for each in other_head_coaches(None)]
    Child.objects.filter(pk=child.pk).update(told_of_18_on=today)
    send_after_commit(mails)


def _mail(person: User, who: str, context: dict[str, object]) -> OutgoingMail:
    body = render_to_string(f"athletes/mail/turning_18_{who}.txt", context)
    return written_mail(person.email, "Something changes in Fledge", body)
