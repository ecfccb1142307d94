"""What is kept for a time and then let go, as declared: every night, or said beforehand by
`manage.py retention`."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db import connection, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone
from procrastinate.contrib.django import app

from athletes.mailing import send_after_commit, written_mail
from athletes.models import (
    AccessRules,
    Child,
    ChildQuerySet,
    Enrolment,
    GrowthMeasurement,
    Guardianship,
    HealthView,
    ImportDraft,
    Invitation,
    RecordedChange,
    Role,
    User,
)
from library.shared.dates import years_before
from library.shared.task_queue import Queue, enqueue, lock_of, task
from program.models import ChildCopy, Erasure, Question, WelfareOfficer
from program.privacy.copies import clear_files
from program.privacy.declarations import DECLARED
from program.privacy.erasing import erase, erase_again

NOTICE = dt.timedelta(days=30)
"""From a head coach being told that a child's time is over to its being erased."""
ACCOUNT_WITHOUT_A_CHILD = dt.timedelta(days=90)


@dataclass(frozen=True)
class LetGo:
    """Rows whose time is over, and what they are."""

    what: str
    rows: QuerySet[Any]
    let_go: Callable[[], object]

    @classmethod
    def whole(cls, what: str, rows: QuerySet[Any]) -> "LetGo":
        return cls(what, rows, rows.delete)


def let_go_of_records() -> None:
    """Who changed what and who looked, as far as that is older than the program keeps it. Done by
    the database's owner, which asks itself how old that is; nothing while a person acts."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT let_go_of_records()")


def over(now: dt.datetime) -> list[LetGo]:
    """All that the next night deletes, but children, who are asked about first."""
    refused_uploads = Question.objects.with_refused_uploads(now)
    declared = [
        LetGo.whole(each.what, each.model._default_manager.filter(**_before(each, now)))
        for each in DECLARED
        if each.kept.days is not None
    ]
    return [
        *declared,
        LetGo.whole("copies that were fetched, or not in time", ChildCopy.objects.over(now)),
        LetGo.whole(
            "invitations that nobody used",
            Invitation.objects.filter(used_at__isnull=True).over_at(now),
        ),
        LetGo.whole("lists that nobody imported", ImportDraft.objects.expired(now)),
        LetGo.whole("accounts without a child", _without_a_child(now)),
        LetGo("what was recorded of changes", _recorded(RecordedChange, now), let_go_of_records),
        LetGo(
            "who looked at what of a child’s health", _recorded(HealthView, now), let_go_of_records
        ),
        LetGo.whole("heights that the family said no to", GrowthMeasurement.objects.refused(now)),
        LetGo(
            "photos and clips that the family said no to",
            refused_uploads,
            refused_uploads.let_uploads_go,
        ),
    ]


def _before(declared: Any, now: dt.datetime) -> dict[str, Any]:
    column = declared.model._meta.get_field(declared.kept.since)
    since = now - dt.timedelta(days=declared.kept.days)
    is_a_day = column.get_internal_type() == "DateField"
    return {f"{declared.kept.since}__lt": since.date() if is_a_day else since}


def _recorded(model: type[RecordedChange | HealthView], now: dt.datetime) -> QuerySet[Any]:
    today = timezone.localtime(now).date()
    since = years_before(today, AccessRules.objects.current().records_years)
    return model._default_manager.filter(at__lt=_at_midnight(since))


def _without_a_child(now: dt.datetime) -> QuerySet[User]:
    """Families' accounts that no child has needed for a while."""
    has_child = Exists(Guardianship.objects.filter(guardian=OuterRef("pk")))
    is_child = Exists(Child.objects.filter(user=OuterRef("pk")))
    old = Q(created_at__lt=now - ACCOUNT_WITHOUT_A_CHILD) & (
        Q(last_login__isnull=True) | Q(last_login__lt=now - ACCOUNT_WITHOUT_A_CHILD)
    )
    is_officer = Exists(WelfareOfficer.objects.standing().filter(person=OuterRef("pk")))
    families = User.objects.filter(role__in=[Role.GUARDIAN, Role.ATHLETE])
    return families.filter(old, ~has_child, ~is_child, ~is_officer)


def children_whose_time_is_over(today: dt.date) -> ChildQuerySet:
    """Those who left their last cohort longer ago than the program keeps a child, or were never in
    one for as long; but for those that are asked about, or that a head coach keeps."""
    years = AccessRules.objects.current().kept_years
    limit = years_before(today, years)
    last = Enrolment.objects.filter(child=OuterRef("pk"))
    still = last.filter(Q(end__isnull=True) | Q(end__gte=limit))
    kept = Erasure.objects.filter(child=OuterRef("pk")).filter(
        Q(done_at__isnull=True, ended_at__isnull=True)
        | Q(ended_at__gte=_at_midnight(years_before(today, 1)))
    )
    return Child.objects.filter(
        ~Exists(still), ~Exists(kept), created_at__lt=_at_midnight(limit)
    ).order_by("pk")


def _at_midnight(day: dt.date) -> dt.datetime:
    return timezone.make_aware(dt.datetime.combine(day, dt.time()))


def let_go(now: dt.datetime) -> None:
    """What one night does. Each kind by itself, so that one that fails holds up no other."""
    for each in over(now):
        each.let_go()
    clear_files(now)
    erase_again()
    _ask_about_children(now)
    _erase_after_notice(now)


@transaction.atomic
def _ask_about_children(now: dt.datetime) -> None:
    found = list(children_whose_time_is_over(timezone.localtime(now).date()))
    Erasure.objects.bulk_create(
        Erasure(child=child, why=Erasure.Why.TIME, asked_at=now) for child in found
    )
    if found:
        heads = User.objects.filter(role=Role.HEAD_COACH, is_active=True)
        send_after_commit([written_mail(each.email, *NOTICE_MAIL) for each in heads])


NOTICE_MAIL = (
    "Children whose time in Fledge is over",
    "Some children left so long ago that the program keeps them no longer. In thirty days "
    "everything about them is erased. Sign in to see who they are, under People and cohorts, and "
    "to keep whom you must keep.\n",
)


@transaction.atomic
def _erase_after_notice(now: dt.datetime) -> None:
    due = Erasure.objects.open().filter(why=Erasure.Why.TIME, asked_at__lte=now - NOTICE)
    for each in due.filter(child__isnull=False).select_for_update(of=("self",)):
        each.confirmed_at = now
        each.save(update_fields=["confirmed_at"])
        enqueue(erase, lock=lock_of(each.child_id or 0), erasure=each.pk)


@app.periodic(cron="7 4 * * *")
@task("program.keep_no_longer", Queue.CHANGES)
def keep_no_longer(timestamp: int) -> None:
    let_go(timezone.now())
