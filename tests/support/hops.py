"""Hops that are counted one by one, for a child of eight, who may land sixty times a day."""

import datetime as dt
from types import SimpleNamespace

from athletes.models import Child, Cohort
from library.models import Exercise
from program.models import Session
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    CohortFactory,
    ExerciseFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)

EIGHT_YEARS_AGO = dt.date(2018, 6, 15)
COUNTED = {
    "revision__pattern": "calf_ankle",
    "revision__tempo": "",
    "revision__low": 1,
    "revision__high": 60,
    "revision__loads": ["foot"],
}


def pathway_of_hops() -> None:
    """A calf raise, which does not land, and then a hop, one ground contact each."""
    raised = ExerciseFactory(slug="calf-raise", **COUNTED)
    hop = ExerciseFactory(slug="hop", **COUNTED, revision__contacts=1)
    PathwayFactory(slug="hops", name="Hops", pattern="calf_ankle", chain=[raised, hop])


def hops(cohort: Cohort, amount: int, day: dt.date = MONDAY, **details) -> Session:
    """A session of so many hops, in a block of its own."""
    session = SessionFactory(block=BlockFactory(cohort=cohort), date=day, **details)
    part = PartFactory(session=session, rounds=1)
    exercise = Exercise.objects.get(slug="hop")
    SlotFactory(part=part, exercise=exercise, amount=amount, tempo="")
    return session


def child_of_two(cast) -> Child:
    """Nora, who is with the runners of the owning coach and with the other coach's gymnasts."""
    cast.cohort.name, cast.other_cohort.name = "Runners", "Gymnasts"
    for cohort in (cast.cohort, cast.other_cohort):
        cohort.save()
    nora = ChildFactory(given_name="Nora", birth_date=EIGHT_YEARS_AGO, cohort=cast.cohort)
    nora.enrolments.create(cohort=cast.other_cohort, start=MONDAY - dt.timedelta(weeks=8))
    return nora


def two_groups(cast) -> SimpleNamespace:
    """The hops, Nora, and her two groups by name; `swimmers` are nobody's yet."""
    pathway_of_hops()
    nora = child_of_two(cast)
    return SimpleNamespace(
        nora=nora,
        runners=cast.cohort,
        gymnasts=cast.other_cohort,
        swimmers=CohortFactory(name="Swimmers"),
    )


def gets(session: Session, child: Child) -> tuple[str, int] | None:
    """The exercise and the amount that a child has of a session of hops; None where it has none."""
    rows = session.assigned.filter(child=child, closed_at=None)
    return rows.values_list("slots__revision__exercise__slug", "slots__amount").first()
