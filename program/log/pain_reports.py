"""Writing down that something hurts: first, once and by its own id, whatever becomes of the log it
came with. From then on the place is spared, and the coaches are told.
"""

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from django.db import transaction
from django.utils import timezone

from athletes.changes import lock, tell
from athletes.mailing import origin_of
from athletes.models import Child, ConsentPurpose, User
from athletes.models.consents import is_agreed_to
from athletes.signals import Circumstance
from program.log.logbook import mark_started
from program.log.pain_mail import tell_coaches
from program.models import AssignedSession, AssignedSlot, PainReport, SafetyRules

if TYPE_CHECKING:
    from library.shared.access import Request


@dataclass(frozen=True)
class PainEntry:
    """Something hurt: a place with a side and a level, or a symptom. `public_id` is made by the
    sender: sent twice, it is one report."""

    public_id: uuid.UUID
    region: str = ""
    side: str = "both"
    level: int | None = None
    symptom: str = ""
    signs: tuple[str, ...] = ()
    note: str = ""
    slot: AssignedSlot | None = None

    @property
    def says(self) -> Mapping[str, object]:
        """As a report keeps it."""
        return {
            "region": self.region,
            "side": self.side,
            "level": self.level,
            "symptom": self.symptom,
            "signs": sorted(self.signs),
            "note": self.note,
            "revision": self.slot.revision if self.slot else None,
        }


@dataclass(frozen=True)
class Reporting:
    """Who says it, when, and the address of the site they say it at, for the link in a mail."""

    by: User
    now: dt.datetime
    origin: str


def reporting_of(request: "Request") -> Reporting:
    return Reporting(request.user, timezone.now(), origin_of(request))


@transaction.atomic
def report_pain(
    child: Child,
    pain: PainEntry,
    reporting: Reporting,
    session: AssignedSession | None = None,
    *,
    is_begun: bool = False,
) -> PainReport:
    """Write it down, have the place spared and the coaches told, in one transaction. It stands also
    where the session is gone. `is_begun`: it hurt while doing that session, which stays the
    child's.

    Words about health are kept where the family agrees to them, and everything else in any case.
    Sent again it is the same report; if it says something else, it waits for an answer again. Locks
    the child, so call it before locking any of its sessions.
    """
    child = lock(child)
    session = _as_it_is(session)
    if session and is_begun:
        mark_started([session], reporting.now)
    there = PainReport.objects.filter(public_id=pain.public_id).first()
    if there and there.child_id != child.pk:
        # An id that names a report of another child is nobody's business here.
        pain, there = replace(pain, public_id=uuid.uuid4()), None
    pain = _in_agreed_words(child, pain, there, timezone.localdate(reporting.now))
    if there and _says_the_same(there, pain):
        return there
    report = _say_otherwise(there, pain) if there else _create(child, pain, reporting, session)
    tell(child, Circumstance.PAIN)
    tell_coaches(report, reporting.by, reporting.now, reporting.origin)
    return report


def _in_agreed_words(
    child: Child, pain: PainEntry, there: PainReport | None, day: dt.date
) -> PainEntry:
    """Without the words where the family does not agree to them; those of before stay."""
    before = there.note if there else ""
    if pain.note == before or is_agreed_to(ConsentPurpose.HEALTH_NOTES, child, day):
        return pain
    return replace(pain, note=before)


def _as_it_is(session: AssignedSession | None) -> AssignedSession | None:
    """It may have been replaced or taken back since it was read. The child is locked, so it stays
    from here on."""
    if session is None:
        return None
    mine = AssignedSession.objects.filter(child=session.child_id, public_id=session.public_id)
    return mine.first()


def _create(
    child: Child, pain: PainEntry, reporting: Reporting, session: AssignedSession | None
) -> PainReport:
    report = PainReport(
        public_id=pain.public_id,
        child=child,
        assigned_session=session,
        reported_at=reporting.now,
        reported_by=reporting.by,
        **pain.says,
    )
    report.spares = _spares(report)
    report.save(force_insert=True)
    return report


def _spares(report: PainReport) -> bool:
    rules = SafetyRules.objects.current()
    return report.pain.is_warning or report.level is None or report.level >= rules.spares_from


def _says_the_same(there: PainReport, pain: PainEntry) -> bool:
    return all(getattr(there, name) == said for name, said in pain.says.items())


def _say_otherwise(there: PainReport, pain: PainEntry) -> PainReport:
    for name, said in pain.says.items():
        setattr(there, name, said)
    there.spares = _spares(there)
    there.answered_at = there.answered_by = there.mailed_at = None
    there.save(update_fields=[*pain.says, *_ASKED_ANEW])
    return there


_ASKED_ANEW: Final = ("spares", "answered_at", "answered_by", "mailed_at")


@transaction.atomic
def take_back(report: PainReport, by: User, now: dt.datetime, because: str) -> bool:
    """It was about another child, or a mistake. It stays, with who said so and why; its place is
    spared no longer. False if somebody had said so before."""
    child = lock(report.child)
    standing = PainReport.objects.standing().filter(pk=report.pk)
    taken = standing.update(taken_back_at=now, taken_back_by=by, taken_back_because=because)
    if taken:
        tell(child, Circumstance.PAIN)
    return bool(taken)
