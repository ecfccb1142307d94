"""Which of the sessions that children hold are forbidden by what is known of them.

The standing invariant: no child holds a published session, not yet started, that its facts forbid.
Whoever changes a fact asks this in the same transaction; the sweep asks it of everybody.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final, NamedTuple

from django.db.models import Exists, OuterRef

from athletes.models import Enrolment
from program.common.library_snapshot import library_snapshot
from program.common.session_plan import dose_of
from program.engine.fit.library import FitLibrary
from program.engine.fit.limits import FitChild, HardLimits
from program.engine.fit.reasons import ReasonCode
from program.engine.prescription import Prescription
from program.fit.child_facts import circumstances_of_assigned
from program.models import AssignedSession, AssignedSessionQuerySet, AssignedSlot

NOT_OF_THE_CHILD: Final = {ReasonCode.RETIRED}
"""A retired exercise stays with who has it: whether it is taken back is a coach's to say."""


def forbidden_among(assigned: AssignedSessionQuerySet) -> list[AssignedSession]:
    """Those of some assigned sessions that hold, or offer as the easier option, an exercise that
    breaks a limit of the child, or more ground contacts than it may have, or that belong to a
    cohort it is not in on that day; and all of a child who is held back. In a fixed number of
    queries."""
    in_cohort = Enrolment.objects.in_force(OuterRef("date")).filter(
        child=OuterRef("child"), cohort=OuterRef("session__block__cohort")
    )
    rightly = set(assigned.filter(Exists(in_cohort)).values_list("pk", flat=True))
    sessions = list(assigned.select_related("child", "session__block"))
    held = _held_by(sessions)
    library = library_snapshot().fit
    return [
        session
        for session, child in zip(sessions, circumstances_of_assigned(sessions), strict=True)
        if session.pk not in rightly or _is_forbidden(held[session.pk], child, library)
    ]


class _Held(NamedTuple):
    """One slot of an assigned session, with the columns that count its ground contacts."""

    session: int
    exercise: str
    easier: str | None
    rounds: int
    amount: int
    tempo: str
    measure: str
    sides: str
    pattern: str
    contacts: Decimal
    no_landing_because: str


def _held_by(sessions: Iterable[AssignedSession]) -> dict[int, list[_Held]]:
    held: dict[int, list[_Held]] = defaultdict(list)
    rows = AssignedSlot.objects.filter(assigned_session__in=[each.pk for each in sessions])
    for row in rows.order_by().values_list(
        "assigned_session",
        "revision__exercise__slug",
        "easier_revision__exercise__slug",
        "rounds",
        "amount",
        "tempo",
        "revision__measure",
        "revision__sides",
        "revision__pattern",
        "revision__contacts",
        "revision__no_landing_because",
    ):
        one = _Held(*row)
        held[one.session].append(one)
    return held


def _is_forbidden(held: Sequence[_Held], child: FitChild, library: FitLibrary) -> bool:
    limits = HardLimits(child)
    if limits.held_back:
        return True
    exercises = {one.exercise for one in held} | {one.easier for one in held if one.easier}
    known = (library.by_slug[slug] for slug in exercises if slug in library.by_slug)
    if any(
        reason.code not in NOT_OF_THE_CHILD for each in known for reason in limits.broken_by(each)
    ):
        return True
    contacts = sum(_ground_contacts(one, library) * one.rounds for one in held)
    return round(contacts, 6) > limits.contact_ceiling


def _ground_contacts(one: _Held, library: FitLibrary) -> float:
    """By what the exercise is said to be today, as long as it is counted in the same measure."""
    today, asked = library.by_slug.get(one.exercise), Prescription(one.amount, one.tempo)
    dose = dose_of(one, asked)
    if today is None or today.measure is not dose.measure:
        return dose.ground_contacts
    return replace(dose, contacts=today.contacts_counted).ground_contacts
