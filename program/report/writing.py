"""Reports to families: begun for a whole block, written a few at a time, sent once, corrected.

How far the writing has come stands in the rows themselves, so the worker goes on where it was after
a crash, and whoever has the page open sees it.
"""

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from athletes.models import Child
from library.shared.task_queue import Queue, enqueue, task
from program.models import Block, Report, ReportQuerySet
from program.report.facts import pages_of
from program.report.forms import CorrectionForm
from program.report.mail import tell_of_correction, tell_of_reports

if TYPE_CHECKING:
    from library.shared.access import Request

AT_ONCE: Final = 8
"""How many reports are written in one transaction."""


@dataclass(frozen=True)
class Progress:
    """How many of a block's reports are written."""

    written: int
    total: int

    @property
    def is_over(self) -> bool:
        return self.written == self.total


def begin(block: Block) -> None:
    """Have every child's report of the block written, anew where it is not sent."""
    with transaction.atomic():
        Report.objects.bulk_create(
            (Report(block=block, child=child) for child in _children_of(block)),
            ignore_conflicts=True,
        )
        ready = _locked(Report.objects.filter(block=block).ready()).values_list("pk", flat=True)
        Report.objects.filter(pk__in=list(ready)).update(generated_at=None)
        enqueue(write_reports, lock=f"block-{block.pk}", block=block.pk)


@task("program.write_reports", Queue.CHANGES)
def write_reports(block: int) -> None:
    """Write all of a block's reports that wait to be written."""
    found = Block.objects.filter(pk=block).first()
    while found and not write_some(found, timezone.now(), timezone.localdate()).is_over:
        pass


def _locked(reports: ReportQuerySet) -> ReportQuerySet:
    """Nobody else's until the transaction ends, taken in one order."""
    return reports.select_for_update(of=("self",)).order_by("pk")


def _children_of(block: Block) -> QuerySet[Child]:
    """Whoever had something to do in the block."""
    return Child.objects.filter(assigned__session__block=block).distinct()


def without_report(block: Block) -> int:
    """How many had something to do in the block, and no report of it."""
    return _children_of(block).exclude(reports__block=block).count()


def write_some(block: Block, now: dt.datetime, today: dt.date) -> Progress:
    """Write the next few; those somebody else is writing are left to them."""
    reports = Report.objects.filter(block=block)
    with transaction.atomic():
        waiting = reports.waiting().select_related("child").order_by("pk")
        some = list(waiting.select_for_update(of=("self",), skip_locked=True)[:AT_ONCE])
        pages = pages_of(block, [each.child for each in some], today)
        for each in some:
            each.write(pages[each.child_id], now)
        Report.objects.bulk_update(some, ["written", "generated_at"])
    return progress_of(block)


def progress_of(block: Block) -> Progress:
    states = list(Report.objects.filter(block=block).values_list("generated_at", flat=True))
    return Progress(sum(1 for each in states if each), len(states))


def send(reports: ReportQuerySet, request: "Request", now: dt.datetime) -> int:
    """Send those that are ready, each once, and tell the guardians; how many were sent. A mail
    that does not leave undoes nothing: the report stands on the family's pages."""
    with transaction.atomic():
        ready = list(_locked(reports.ready()).select_related("child"))
        for each in ready:
            each.sent_at, each.sent_by, each.words_by = now, request.user, request.user
        Report.objects.bulk_update(ready, ["sent_at", "sent_by", "words_by"])
        tell_of_reports(request, ready)
    return len(ready)


def correct(form: CorrectionForm, request: "Request", now: dt.datetime) -> bool:
    """Put the valid form in the place of what was sent, and tell the guardians; False where it
    stands so already. Raises what `correct_by` does."""
    with transaction.atomic():
        corrected = form.correct_by(request.user, now)
        if corrected:
            tell_of_correction(request, corrected)
    return corrected is not None
