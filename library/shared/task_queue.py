"""Work after a commit: what must follow a change is a row of the same transaction, and a worker
does it (`manage.py work`, which `demo` and `serve` start).

The queue is Postgres itself, kept by procrastinate. A task may be done twice, where a worker dies
between doing it and saying so, and must come to the same then. What fails is tried again, after
pauses that grow, for as long as there is something to do.
"""

import datetime as dt
import time
from collections.abc import Callable, Iterable
from enum import StrEnum
from typing import Any, Final

from django.db import connection, models
from django.db.models import Exists, OuterRef, Q
from django.db.transaction import TransactionManagementError
from django.utils import timezone
from procrastinate import BaseRetryStrategy, RetryDecision
from procrastinate.contrib.django import app
from procrastinate.contrib.django.models import (
    ProcrastinateEvent,
    ProcrastinateJob,
    ProcrastinateWorker,
)
from procrastinate.jobs import Job
from procrastinate.tasks import Task


class Queue(StrEnum):
    """Who waits for whom: a mail server that answers slowly holds up mails and nothing else."""

    CHANGES = "changes"
    MAIL = "mail"


class GrowingPauses(BaseRetryStrategy):
    """2, 4, 8 … seconds and at most ten minutes, without end."""

    LONGEST: Final = 600

    def get_retry_decision(self, *, exception: BaseException, job: Job) -> RetryDecision:
        pause = min(2 ** (min(job.attempts, 20) + 1), self.LONGEST)
        return RetryDecision(retry_in={"seconds": pause})


def task[**P, R](name: str, queue: Queue) -> Callable[[Callable[P, R]], Task[P, R, P]]:
    """Make a function a task. Rows carry its name, so that stays when the function moves. Its
    arguments are keys of rows and nothing else, since logs repeat them."""
    return app.task(name=name, queue=queue, retry=GrowingPauses())


AT_THE_START: Final[list[Task[..., Any, ...]]] = []


def also_at_the_start[T: Task[..., Any, ...]](work: T) -> T:
    """Have a task done whenever a worker starts."""
    AT_THE_START.append(work)
    return work


def enqueue(
    work: Task[..., Any, ...],
    *,
    lock: str | None = None,
    priority: int = 0,
    at: dt.datetime | None = None,
    **arguments: Any,
) -> None:
    """Have a task done once the transaction under way is committed, and never if it is not; with
    `at`, not before that moment.

    Those with the same `lock` are done one after the other, in this order.
    """
    _refuse_outside_a_transaction()
    work.configure(lock=lock, priority=priority, schedule_at=at).defer(**arguments)


def enqueue_each(work: Task[..., Any, ...], each: Iterable[tuple[str, dict[str, Any]]]) -> None:
    """`enqueue` once for each lock and its arguments, in one query."""
    _refuse_outside_a_transaction()
    deferrers = [(work.configure(lock=lock), arguments) for lock, arguments in each]
    jobs = [one.make_new_job(**arguments) for one, arguments in deferrers]
    if jobs:
        deferrers[0][0].job_manager.batch_defer_jobs(jobs=jobs)


def _refuse_outside_a_transaction() -> None:
    if not connection.in_atomic_block:
        raise TransactionManagementError("What follows a change is written with the change.")


def lock_of(child_id: int) -> str:
    """What concerns one child is done in the order in which it was asked for."""
    return f"child-{child_id}"


LATE: Final = dt.timedelta(minutes=2)
"""After which work that waits is shown to whoever can see to it."""

NO_WORKER: Final = dt.timedelta(minutes=1)
"""Without a sign of life after which nobody counts as working."""


def late(now: dt.datetime) -> "models.QuerySet[ProcrastinateJob]":
    """Work that has failed more than once, or waits for longer than work does, but for what is to
    be done later anyway. What is done leaves no row."""
    asked_long_ago = ProcrastinateEvent.objects.filter(
        job=OuterRef("pk"), type="deferred", at__lt=now - LATE
    )
    given_up = Q(status__in=["failed", "aborted"])
    jobs = ProcrastinateJob.objects.exclude(attempts=0, scheduled_at__gt=now)
    return jobs.filter(Exists(asked_long_ago) | Q(attempts__gte=3) | given_up)


def worker_seen_at() -> dt.datetime | None:
    """The last sign of life of any worker."""
    beats = ProcrastinateWorker.objects.order_by("-last_heartbeat")
    return beats.values_list("last_heartbeat", flat=True).first()


def is_anybody_working(now: dt.datetime | None = None) -> bool:
    seen_at = worker_seen_at()
    return seen_at is not None and seen_at > (now or timezone.now()) - NO_WORKER


def waiting_among(locks: Iterable[str]) -> set[str]:
    """Those of these locks under which some work is still to be done."""
    waiting = ProcrastinateJob.objects.filter(lock__in=list(locks), status__in=["todo", "doing"])
    return set(waiting.values_list("lock", flat=True))


def is_waiting(lock: str) -> bool:
    return bool(waiting_among([lock]))


A_MOMENT: Final = 1.5
"""Seconds for which somebody may be kept waiting; work usually takes a tenth of it."""


def wait_for(*locks: str) -> bool:
    """Wait a moment for the work under these locks; False where some is still to be done then."""
    until = time.monotonic() + A_MOMENT
    while waiting_among(locks):
        if time.monotonic() > until or not is_anybody_working():
            return False
        time.sleep(0.03)
    return True
