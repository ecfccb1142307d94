import pytest
from django.utils import timezone

from program.common.session_plan import plan_of
from program.engine.pace import JUNIOR_PACE
from program.engine.prescription import Prescription
from program.fit.choices import Chosen, chosen_seconds, fingerprint
from program.models import AssignedSession, Override, Session
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


def session_of_two_parts(cohort) -> Session:
    session = SessionFactory(block=BlockFactory(cohort=cohort))
    warm_up = PartFactory(session=session, position=0, name="Warm-up", rounds=1)
    SlotFactory(part=warm_up, position=0, amount=8, tempo="3-1-1-0")
    pair = PartFactory(
        session=session, position=1, name="Pair", kind="superset", rounds=2, rest_seconds=30
    )
    hold = ExerciseFactory(revision__measure="seconds", revision__tempo="")
    SlotFactory(part=pair, position=0, exercise=hold, amount=20, tempo="", rest_seconds=5)
    SlotFactory(part=pair, position=1, amount=6, tempo="2-0-1-0", rest_seconds=0)
    return session


def chosen_for(session, cast) -> list[Chosen]:
    (chosen,) = choose_for(Session.objects.with_plan().get(pk=session.pk), [cast.child])
    return list(chosen.slots)


def test_nothing_chosen_takes_no_time():
    assert chosen_seconds([], JUNIOR_PACE) == 0


def test_what_is_chosen_lasts_as_long_as_its_steps_added_up_by_hand(cast):
    # Warm-up: get ready 10, 8 times 5 s = 40. Then a drink of 20 and 10 to get ready again.
    # The pair, a round: hold 20, breather 5, move on 5, 6 times 3 s = 18. Between the rounds
    # a rest of 30 and 5 to move back to the hold.
    by_hand = (10 + 40) + (20 + 10) + 2 * (20 + 5 + 5 + 18) + (30 + 5)
    assert (
        chosen_seconds(chosen_for(session_of_two_parts(cast.cohort), cast), JUNIOR_PACE) == by_hand
    )


def test_what_was_chosen_and_what_is_then_assigned_last_equally_long(cast, monday):
    session = session_of_two_parts(cast.cohort)
    publish(session, by=cast.coach, now=session.edited_at)
    assigned = AssignedSession.objects.with_slots().get()
    assert assigned.seconds == plan_of(assigned).seconds > 0


def test_an_impossible_dose_is_refused_in_words(cast):
    session = session_of_two_parts(cast.cohort)
    first, *_ = chosen_for(session, cast)
    with pytest.raises(ValueError, match="70 repetitions is out of range"):
        chosen_seconds([Chosen(first.slot, first.revision, Prescription(70))], JUNIOR_PACE)


def squat(number: int):
    """One of a pathway's three, with a revision of always the same id: a fingerprint tells it."""
    return ExerciseFactory(slug=f"squat-{number}", revision__pk=9_000_000 + number)


def session_for_a_child_on_the_second_of_three_squats(cast) -> Session:
    """The hardest, which the child does not get; its own, with a word to this family; a hold."""
    chair, box, deep = (squat(number) for number in (1, 2, 3))
    squats = PathwayFactory(slug="squats", name="Squats", chain=[chair, box, deep])
    cast.child.placements.create(pathway=squats, exercise=box, placed_at=timezone.now())
    session = SessionFactory(
        block=BlockFactory(cohort=cast.cohort, breather=15), name="Monday", note="Barefoot."
    )
    strong = PartFactory(session=session, name="Strong", kind="superset", rounds=3, rest_seconds=45)
    SlotFactory(part=strong, position=0, exercise=deep, note="Slowly.", rest_seconds=20)
    own = SlotFactory(part=strong, position=1, exercise=box, amount=10, tempo="", note="Together.")
    Override.objects.create(slot=own, child=cast.child, exercise=box, note="Mind the box.")
    hold = ExerciseFactory(
        slug="hold", revision__pk=9_000_004, revision__measure="seconds", revision__tempo=""
    )
    last = PartFactory(session=session, position=1, name="Last")
    SlotFactory(part=last, exercise=hold, amount=30, tempo="", rest_seconds=0)
    return session


PUBLISHED_WITH = "1b92598785fd3652541e00938056ae47d64c4e6bbff3dab3667a5c853c3b20e0"
"""What that session's fingerprint has been since the first child got one."""


def test_a_session_that_stays_as_it_was_keeps_the_fingerprint_it_was_published_with(cast):
    """Another one would send every session anew, to every family, the next time it is published."""
    session = session_for_a_child_on_the_second_of_three_squats(cast)
    (chosen,) = choose_for(Session.objects.with_plan().get(pk=session.pk), [cast.child])
    assert [each.outcome for each in chosen.slots] == ["easier", "coach_choice", "as_written"]
    assert fingerprint(session, chosen) == PUBLISHED_WITH
