"""After something about a child changed: what is published and not started is chosen anew.

The coach is told what that did. A session with edits that are not published yet is not sent half
done: it stays as it was, or is taken back where it would now break a limit.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from athletes.models import Child
from athletes.signals import Circumstance
from program.common.library_snapshot import library_snapshot
from program.engine.fit.limits import HardLimits
from program.fit.child_facts import circumstances_of
from program.models import AssignedSession, Refit, Session
from program.publish.publishing import publish_anew_for, withdraw


@dataclass(frozen=True)
class Refitted:
    """How many sessions of a child are now other ones, wait for the coach, or were taken back."""

    changed: int = 0
    waiting: int = 0
    withdrawn: int = 0

    def __add__(self, other: "Refitted") -> "Refitted":
        return Refitted(
            self.changed + other.changed,
            self.waiting + other.waiting,
            self.withdrawn + other.withdrawn,
        )


def on_circumstances_changed(child: Child, what: Circumstance, **signal: Any) -> None:
    """Receiver of `athletes.signals.circumstances_changed`."""
    refit(child, what, timezone.now(), timezone.localdate())


@transaction.atomic
def refit(child: Child, what: Circumstance, now: dt.datetime, today: dt.date) -> Refitted:
    """Fit anew every published session from today on that this child has or should have."""
    child.refresh_from_db()
    outcome = sum(
        (_refit_session(session, child, now) for session in _published_from(today, child)),
        Refitted(),
    )
    if outcome != Refitted():
        Refit.objects.create(child=child, what=what, at=now, **vars(outcome))
    return outcome


def _published_from(today: dt.date, child: Child) -> list[Session]:
    concerns_child = Q(assigned__child=child) | Q(block__cohort__enrolments__child=child)
    return list(
        Session.objects.filter(concerns_child, date__gte=today, published_at__isnull=False)
        .with_plan()
        .distinct()
    )


def _refit_session(session: Session, child: Child, now: dt.datetime) -> Refitted:
    mine = session.assigned.filter(child=child)
    if not child.enrolments.filter(cohort=session.block.cohort).in_force(session.date).exists():
        return Refitted(withdrawn=withdraw(mine))
    if session.is_edited_since_publishing:
        is_unsafe = any(_breaks_a_limit(assigned, session) for assigned in mine.untouched())
        return Refitted(withdrawn=withdraw(mine) if is_unsafe else 0)
    published = publish_anew_for(session, child, now)
    return Refitted(
        changed=published.new + published.replaced,
        waiting=published.held,
        withdrawn=published.removed,
    )


def _breaks_a_limit(assigned: AssignedSession, session: Session) -> bool:
    by_slug = library_snapshot().fit.by_slug
    (circumstances,) = circumstances_of([assigned.child], session)
    limits = HardLimits(circumstances)
    slugs = assigned.slots.values_list("revision__exercise__slug", flat=True)
    return any(limits.broken_by(by_slug[slug]) for slug in slugs if slug in by_slug)
