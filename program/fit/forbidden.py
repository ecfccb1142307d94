"""Which of the sessions that children hold are forbidden by what is known of them.

The standing invariant: no child holds a published session, not yet started, that its facts forbid.
Whoever changes a fact asks this in the same transaction; the sweep asks it of everybody.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

from django.db.models import Exists, OuterRef

from athletes.models import Enrolment
from program.common.library_snapshot import library_snapshot
from program.engine.contact_ceilings import class_ceiling
from program.engine.fit.library import FitExercise, FitLibrary
from program.engine.fit.limits import HardLimits
from program.engine.fit.reasons import ReasonCode
from program.engine.volume import contacts_together
from program.fit.child_facts import circumstances_of_assigned
from program.fit.landings import COLUMNS, Landed, Landing, contacts_held
from program.models import AssignedSession, AssignedSessionQuerySet, AssignedSlot

NOT_OF_THE_CHILD: Final = {ReasonCode.RETIRED}
"""A retired exercise stays with who has it: whether it is taken back is a coach's to say."""


def forbidden_among(assigned: AssignedSessionQuerySet) -> list[AssignedSession]:
    """Those of some assigned sessions that hold, or offer as the easier option, an exercise that
    breaks a limit of the child, or that belong to a cohort it is not in on that day; and all of a
    child who is held back. Where the child's sessions of a day together hold more ground contacts
    than it may have, in all or of one class, whichever cohorts they are of, those that were
    published first stay. In a fixed number of queries."""
    in_cohort = Enrolment.objects.in_force(OuterRef("date")).filter(
        child=OuterRef("child"), cohort=OuterRef("session__block__cohort")
    )
    rightly = set(assigned.filter(Exists(in_cohort)).values_list("pk", flat=True))
    first_published = assigned.order_by("published_at", "pk")
    sessions = list(first_published.select_related("child", "session__block"))
    held = _held_by(sessions)
    library = library_snapshot().fit
    landed = _landed_beside(sessions, library)
    forbidden = []
    for session, child in zip(sessions, circumstances_of_assigned(sessions), strict=True):
        limits, day = HardLimits(child), (session.child_id, session.date)
        contacts = _landed_in(held[session.pk], library)
        is_too_much = _is_too_much(limits, landed[day], contacts)
        if is_too_much or session.pk not in rightly or _breaks(limits, held[session.pk], library):
            forbidden.append(session)
        else:
            landed[day] = contacts_together((landed[day], contacts))
    return forbidden


def forbidden_in(session: AssignedSession) -> set[str]:
    """The exercises, by slug, of one session, begun or not, that the child may not do by what is
    known now. Comes with its `child` and its `session__block`."""
    (child,) = circumstances_of_assigned([session])
    limits, library = HardLimits(child), library_snapshot().fit
    held = {one.exercise for one in _held_by([session])[session.pk]}
    return {each.slug for each in _known(held, library) if _is_forbidden(limits, each)}


class _Held(NamedTuple):
    """One slot of an assigned session."""

    exercise: str
    easier: str | None
    landing: Landing


def _held_by(sessions: Iterable[AssignedSession]) -> dict[int, list[_Held]]:
    held: dict[int, list[_Held]] = defaultdict(list)
    rows = AssignedSlot.objects.filter(assigned_session__in=[each.pk for each in sessions])
    for session, easier, *landing in rows.order_by().values_list(
        "assigned_session", "easier_revision__exercise__slug", *COLUMNS
    ):
        counted = Landing(*landing)
        held[session].append(_Held(counted.exercise, easier, counted))
    return held


def _landed_in(held: Iterable[_Held], library: FitLibrary) -> Landed:
    return contacts_together(dict([one.landing.ground_contacts(library)]) for one in held)


def _is_too_much(limits: HardLimits, before: Landed, contacts: Landed) -> bool:
    """Whether a session's landings pass, with those before it, the day's ceiling or that of how
    hard they are."""
    lands = [how_hard for how_hard, number in contacts.items() if number]
    both, ceiling = contacts_together((before, contacts)), limits.contact_ceiling
    if lands and round(sum(both.values()), 6) > ceiling:
        return True
    return any(round(both[each], 6) > class_ceiling(ceiling, each) for each in lands)


def _landed_beside(
    sessions: Sequence[AssignedSession], library: FitLibrary
) -> dict[tuple[int, dt.date], Landed]:
    """By child and day, what lands in the child's other sessions."""
    others = AssignedSession.objects.filter(
        child__in={each.child_id for each in sessions}, date__in={each.date for each in sessions}
    ).exclude(pk__in=[each.pk for each in sessions])
    landed: dict[tuple[int, dt.date], Landed] = defaultdict(dict)
    for on, contacts in contacts_held(others, library).items():
        day = on.child, on.day
        landed[day] = contacts_together((landed[day], contacts))
    return landed


def _breaks(limits: HardLimits, held: Sequence[_Held], library: FitLibrary) -> bool:
    if limits.held_back:
        return True
    exercises = {one.exercise for one in held} | {one.easier for one in held if one.easier}
    return any(_is_forbidden(limits, each) for each in _known(exercises, library))


def _known(slugs: Iterable[str], library: FitLibrary) -> list[FitExercise]:
    return [library.by_slug[slug] for slug in slugs if slug in library.by_slug]


def _is_forbidden(limits: HardLimits, exercise: FitExercise) -> bool:
    return any(reason.code not in NOT_OF_THE_CHILD for reason in limits.broken_by(exercise))
