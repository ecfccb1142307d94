"""Ground contacts of what children hold, counted by what the exercises are said to be today."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final, NamedTuple

from athletes.models import Child
from library.landing import ContactClass, class_counted
from library.models.exercises import lands
from program.common.session_plan import dose_of
from program.engine.fit.library import FitLibrary
from program.engine.prescription import Prescription
from program.engine.volume import contacts_together
from program.models import AssignedSession, AssignedSessionQuerySet, Session


class Landing(NamedTuple):
    """What counts the ground contacts of one assigned slot, in the order of `COLUMNS`."""

    exercise: str
    rounds: int
    amount: int
    tempo: str
    measure: str
    sides: str
    pattern: str
    contacts: Decimal
    no_landing_because: str
    contact_class: str

    def ground_contacts(self, library: FitLibrary) -> tuple[ContactClass, float]:
        """Of all rounds, and how hard they are; by what the exercise is said to be today, as long
        as it is counted in the same measure."""
        today, asked = library.by_slug.get(self.exercise), Prescription(self.amount, self.tempo)
        dose = dose_of(self, asked)
        if today is not None and today.measure is dose.measure:
            dose = replace(dose, contacts=today.contacts_counted)
            return today.class_counted, dose.ground_contacts * self.rounds
        return class_counted(self), dose.ground_contacts * self.rounds


COLUMNS: Final = (
    "revision__exercise__slug",
    "rounds",
    "amount",
    "tempo",
    "revision__measure",
    "revision__sides",
    "revision__pattern",
    "revision__contacts",
    "revision__no_landing_because",
    "revision__contact_class",
)


_LANDS: Final = lands("slots__revision__") | lands("slots__revision__exercise__current__")


type Landed = dict[ContactClass, float]
"""Ground contacts by how hard they are."""


class LandedOn(NamedTuple):
    """A session that a child holds on a day, and the key of its cohort."""

    session: int
    child: int
    day: dt.date
    cohort: int


def landings_beside(
    children: Collection[Child], sessions: Sequence[Session], library: FitLibrary
) -> dict[tuple[int, int], dict[str, Landed]]:
    """By session and child, the ground contacts of what else the child holds on the session's day,
    by the key of its cohort and by how hard they are. A child is one body: sessions of every cohort
    count, and a second one of the same. One query."""
    days: dict[dt.date, list[int]] = defaultdict(list)
    for session in sessions:
        days[session.date].append(session.pk)
    others = AssignedSession.objects.filter(child__in=children, date__in=days)
    if len(sessions) == 1:
        others = others.exclude(session=sessions[0].pk)
    beside: dict[tuple[int, int], dict[str, Landed]] = defaultdict(lambda: defaultdict(dict))
    for on, landed in contacts_held(others, library).items():
        for key in days[on.day]:
            if key != on.session:
                groups = beside[key, on.child]
                groups[str(on.cohort)] = contacts_together((groups[str(on.cohort)], landed))
    return beside


def contacts_held(assigned: AssignedSessionQuerySet, library: FitLibrary) -> dict[LandedOn, Landed]:
    """What lands in those of some sessions that children may do or have done. What was logged
    counts whole, whatever was said of it, since a log can still be changed; what is closed does not
    before it is chosen anew. One query."""
    rows = assigned.open().filter(_LANDS).order_by()
    found: dict[LandedOn, Landed] = defaultdict(dict)
    for session, child, day, cohort, *landing in rows.values_list(
        "session",
        "child",
        "date",
        "session__block__cohort",
        *(f"slots__{each}" for each in COLUMNS),
    ):
        on = LandedOn(session, child, day, cohort)
        how_hard, contacts = Landing(*landing).ground_contacts(library)
        found[on] = contacts_together((found[on], {how_hard: contacts}))
    return found
