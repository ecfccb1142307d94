"""A substitute that asks for more is told to the coach and counted in that child's checks."""

import pytest
from django.urls import reverse
from django.utils import timezone

from program.checks.session_checks import results_for_session
from program.common.session_plan import plan_of
from program.engine.checks import Asked
from program.fit.asked import asked_of
from program.fit.fitting import fit
from program.models import AssignedSession, Session
from program.publish.publishing import publish
from tests.support.factories import (
    MONDAY,
    BlockFactory,
    ChildFactory,
    ExerciseFactory,
    PartFactory,
    PathwayFactory,
    SessionFactory,
    SlotFactory,
)
from tests.support.family import text
from tests.support.sliding import has, spare_the_thigh

pytestmark = pytest.mark.django_db


@pytest.fixture
def session(cast):
    """Two rounds of eight heel raises, which want a wall; who has none hops on each leg, watched by
    a grown-up, and twice each time. The second exercise is nothing but a squat."""
    wall = [("a wall", ["wall"])]
    raises = ExerciseFactory(revision__name="Heel raise", revision__needs=wall)
    hop = ExerciseFactory(
        revision__name="Hop",
        revision__pattern="jump",
        revision__contacts=2,
        revision__sides="each",
        revision__watch=True,
        revision__loads=["thigh", "knee", "ankle"],
    )
    PathwayFactory(name="Feet", chain=[hop, raises])
    session = SessionFactory(
        block=BlockFactory(cohort=cast.cohort), place="home", target_minutes=20
    )
    part = PartFactory(session=session, rounds=2)
    SlotFactory(part=part, exercise=raises, position=0)
    SlotFactory(part=part, exercise=ExerciseFactory(revision__name="Squat"), position=1)
    return session


def written(session) -> Session:
    return Session.objects.with_plan().get(pk=session.pk)


def asked_in(session, *children) -> dict[int, Asked]:
    session = written(session)
    return asked_of(fit(session, children), plan_of(session))


def test_it_is_asked_as_each_child_gets_it_and_nothing_is_said_of_who_gets_it_as_written(
    cast, session
):
    walled, spared = (ChildFactory(cohort=cast.cohort) for _ in range(2))
    has(cast.child)
    has(walled, "wall")
    has(spared)
    spare_the_thigh(spared)
    asked = asked_in(session, cast.child, walled, spared)
    assert set(asked) == {cast.child.pk}
    hops = asked[cast.child.pk]
    # 2 rounds × 8 on each side × 2.
    assert (hops.contacts, hops.watched) == (64, ("Hop",))
    assert (hops.lands_more, hops.takes_twice) == (True, True)


def test_it_is_what_the_child_is_then_sent(cast, session):
    has(cast.child)
    asked = asked_in(session, cast.child)[cast.child.pk]
    publish(written(session), cast.coach, timezone.now(), because="I watch every landing.")
    sent = plan_of(AssignedSession.objects.with_slots().get())
    assert (asked.seconds, asked.contacts) == (sent.seconds, sent.volume.total.ground_contacts)


def test_of_whoever_rests_nothing_is_asked(cast, session):
    has(cast.child)
    cast.child.restrictions.create(kind="nothing", start=MONDAY, until=MONDAY)
    assert asked_in(session, cast.child) == {cast.child.pk: Asked(0, 0)}


def test_the_checks_say_for_how_many_and_the_builder_names_them(cast, session, client_for):
    has(cast.child)
    has(ChildFactory(cohort=cast.cohort), "wall")
    as_written = {each.result.code for each in results_for_session(written(session))}
    assert not {"supervision", "asks_more"} & as_written
    page = text(client_for(cast.coach).get(reverse("program:look", args=[session.pk])))
    for said in (
        "At home a grown-up has to watch what 1 child gets instead: Hop. house rule",
        "1 child gets something that lands more often than what is written. house rule Mira T.",
        "1 child gets something that takes at least twice as long as what is written. house rule "
        "Mira T.",
    ):
        assert said.replace("Hop. house rule", "Hop. common practice Mira T.") in page
    # The same answer fills the bars under the exercises.
    assert "64 ground contacts instead of 0; takes 2:48 instead of 1:20; a grown-up has to" in page


def test_who_gets_what_says_what_a_place_asks_more_and_of_how_many(cast, session, client_for):
    has(cast.child)
    coach = client_for(cast.coach)
    page = text(coach.get(reverse("program:who_gets_what", args=[session.pk])))
    assert "1 of 1 child get something other than written, 1 of them something that asks" in page
    assert "64 ground contacts instead of 0 takes 2:48 instead of 1:20 a grown-up has to" in page
    slot = session.all_slots()[0]
    place = reverse("program:decision", args=[session.pk, slot.pk, cast.child.public_id])
    assert "a grown-up has to watch" in text(coach.get(place))
    Session.objects.update(place="venue")
    cast.cohort.venue_items.clear()
    page = text(coach.get(reverse("program:who_gets_what", args=[session.pk])))
    assert "64 ground contacts instead of 0" in page
    assert "a grown-up has to" not in page


def test_what_is_asked_costs_no_query(cast, session, django_assert_num_queries):
    children = [cast.child, *(ChildFactory(cohort=cast.cohort) for _ in range(4))]
    for child in children:
        has(child)
    whole = written(session)
    fitted, plan = fit(whole, children), plan_of(whole)
    with django_assert_num_queries(0):
        assert len(asked_of(fitted, plan)) == 5
