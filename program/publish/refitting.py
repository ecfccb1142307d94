"""After something about a child changed: what is published and not started is chosen anew.

The coach is told what that did. A session with edits that are not published yet is not sent half
done: it stays as it was, or is taken back where it would now break a limit.
"""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction
from django.db.models import F, Q

from athletes.models import Child
from athletes.signals import Circumstance
from program.fit.forbidden import forbidden_among
from program.models import Refit, Session
from program.publish.publishing import NotThereAnyMore, assign, locked, withdraw


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


def refit(child: Child, what: Circumstance, now: dt.datetime, today: dt.date) -> Refitted:
    """Fit anew every published session from today on that this child has or should have, after a
    change at `now`.

    Each session is a transaction of its own, and what it did is noted in it: cut off and begun
    again, this goes on where it was, and tells the coach of each session once.
    """
    child.refresh_from_db()
    return sum(
        (_refit_session(session, child, what, now) for session in _published_from(today, child)),
        Refitted(),
    )


def _published_from(today: dt.date, child: Child) -> list[Session]:
    concerns_child = Q(assigned__child=child) | Q(block__cohort__enrolments__child=child)
    published = Session.objects.taking_place().filter(published_at__isnull=False, date__gte=today)
    return list(published.filter(concerns_child).distinct())


@transaction.atomic
def _refit_session(
    session: Session, child: Child, what: Circumstance, now: dt.datetime
) -> Refitted:
    try:
        written = locked(session, [child])
    except NotThereAnyMore:  # what nobody was sent may be taken out
        return Refitted()
    outcome = _fitted_anew(written, child, now)
    if _is_news(what, outcome):
        _note(child, what, now, outcome)
    return outcome


def _is_news(what: Circumstance, outcome: Refitted) -> bool:
    """Of what a coach has decided it is none that it is done."""
    if what is Circumstance.DECISION:
        return bool(outcome.waiting or outcome.withdrawn)
    return outcome != Refitted()


def _fitted_anew(session: Session, child: Child, now: dt.datetime) -> Refitted:
    mine = session.assigned.filter(child=child)
    if not child.enrolments.filter(cohort=session.block.cohort).in_force(session.date).exists():
        return Refitted(withdrawn=withdraw(mine))
    if session.is_edited_since_publishing:
        if forbidden_among(mine.untouched()):
            return Refitted(withdrawn=withdraw(mine))
        mine.update(closed_at=None)
        return Refitted()
    published = assign(session, [child], session.published_by, now)
    return Refitted(
        changed=published.new + published.replaced,
        waiting=published.held,
        withdrawn=published.removed,
    )


def _note(child: Child, what: Circumstance, now: dt.datetime, outcome: Refitted) -> None:
    told, _ = Refit.objects.get_or_create(child=child, what=what, at=now, defaults=vars(Refitted()))
    counted = {name: F(name) + count for name, count in vars(outcome).items()}
    Refit.objects.filter(pk=told.pk).update(**counted)
