"""Whatever is written in a slot or its part goes into every copy and to the family, anew when it
changes.

The fields are the models' own: one that is new fails here until a value is named for it, and from
then on until outlines and the fingerprint know it.
"""

import json

import pytest
from django.utils import timezone

from library.models import Exercise
from program.common.session_outlines import Dated, outline_of, write_sessions
from program.engine.outline import session_as_data, session_from_data
from program.engine.prescription import PRESCRIBED
from program.engine.weeks import A_WEEK
from program.fit.choices import fingerprint
from program.models import AssignedSlot, Part, Session, Slot
from program.publish.publishing import publish
from tests.support.deciding import choose_for
from tests.support.factories import (
    BlockFactory,
    ExerciseFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)

pytestmark = pytest.mark.django_db

# Where it stands and who is editing it: not what it says.
NOT_WRITTEN = {"id", "version", "session", "part", "position"}
SQUATS = ("chair-squat", "box-squat", "deep-squat", "one-leg-squat")
SLOT = {
    "exercise": "one-leg-squat",
    "amount": 9,
    "tempo": "2-0-1-0",
    "rest_seconds": 25,
    "note": "Softly.",
    "rule": "easier_where_needed",
    "max_steps_up": 2,
}
PART = {"name": "Strong", "kind": "circuit", "rounds": 2, "rest_seconds": 40}


def written_fields(model: type[Slot | Part]) -> list[str]:
    names = [field.name for field in model._meta.concrete_fields]
    return [name for name in names if name not in NOT_WRITTEN]


@pytest.fixture
def session(cast) -> Session:
    """A squat for all, and one that a child who is two steps on may meet one step of the way."""
    squats = [ExerciseFactory(slug=slug) for slug in SQUATS]
    pathway = PathwayFactory(chain=squats)
    cast.child.placements.create(pathway=pathway, exercise=squats[3], placed_at=timezone.now())
    session = SessionFactory(block=BlockFactory(cohort=cast.cohort))
    part = PartFactory(session=session)
    SlotFactory(part=part, exercise=squats[1], rule="as_written")
    SlotFactory(part=part, position=1, exercise=squats[1], rule="meet_placement")
    return session


def change(model: type[Slot | Part], field: str, values: dict[str, object]) -> object:
    """Write another value into every row, and answer with it."""
    value = values[field]
    if field == "exercise":
        value = Exercise.objects.get(slug=value)
    assert not model.objects.filter(**{field: value}).exists()
    model.objects.update(**{field: value})
    return value


def copy_by_way_of_a_template(session: Session, by) -> Session:
    whole = Session.objects.with_slots().get(pk=session.pk)
    kept = json.loads(json.dumps(session_as_data(outline_of(whole))))
    dated = Dated(session_from_data(kept), session.date + A_WEEK)
    return write_sessions(session.block, [dated], by)[0]


def fingerprint_of(session: Session, child) -> str:
    fetched = Session.objects.with_plan().get(pk=session.pk)
    (chosen,) = choose_for(fetched, [child])
    return fingerprint(fetched, chosen)


@pytest.mark.parametrize("field", written_fields(Slot))
def test_a_field_of_a_slot_is_in_every_copy(session, cast, field):
    value = change(Slot, field, SLOT)
    copy = copy_by_way_of_a_template(session, cast.coach)
    assert [getattr(slot, field) for slot in copy.all_slots()] == [value, value]


@pytest.mark.parametrize("field", written_fields(Part))
def test_a_field_of_a_part_is_in_every_copy(session, cast, field):
    value = change(Part, field, PART)
    copy = copy_by_way_of_a_template(session, cast.coach)
    assert [getattr(part, field) for part in copy.parts.all()] == [value]


@pytest.mark.parametrize("field", PRESCRIBED)
def test_what_a_slot_asks_for_is_what_the_family_has(session, cast, field):
    value = change(Slot, field, SLOT)
    publish(session, cast.coach, timezone.now())
    assert getattr(AssignedSlot.objects.get(outcome="as_written"), field) == value


@pytest.mark.parametrize("field", written_fields(Slot))
def test_a_slot_changed_in_any_field_is_published_anew(session, cast, field):
    before = fingerprint_of(session, cast.child)
    change(Slot, field, SLOT)
    assert fingerprint_of(session, cast.child) != before


@pytest.mark.parametrize("field", written_fields(Part))
def test_a_part_changed_in_any_field_is_published_anew(session, cast, field):
    before = fingerprint_of(session, cast.child)
    change(Part, field, PART)
    assert fingerprint_of(session, cast.child) != before
