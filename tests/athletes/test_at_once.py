"""Two people, or one impatient one, at the same moment."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from athletes.changes import Rule, place, restrict
from athletes.import_children import draft_of, take_over
from athletes.models import Child, ImportDraft, Placement, Restriction
from library.body import Region, RestrictionKind, Side
from tests.factories import ExerciseFactory, PathwayFactory

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*acts):
    """The answers of acts that begin together, each on its own connection."""
    gate = Barrier(len(acts))

    def begun(act):
        gate.wait()
        try:
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(begun, acts))


def test_a_double_press_on_add_imports_once(cast, now, today):
    content = b"given name,initial,dob,cohort,email\nLea,B,2014-02-03,Own cohort,a@example.org"
    draft = draft_of(content, None, cast.coach, now)

    def press():
        return take_over(
            ImportDraft.objects.get(pk=draft.pk), cast.coach, now, today, month_first=False
        )

    answers = at_once(press, press)
    assert [answer.added for answer in answers] == [1, 1]
    assert sorted(len(answer.invitations) for answer in answers) == [0, 1]
    assert Child.objects.filter(given_name="Lea").count() == 1


def test_of_two_coaches_who_place_a_child_at_once_the_later_one_holds(cast):
    easy, hard = ExerciseFactory(), ExerciseFactory()
    pathway = PathwayFactory(chain=[easy, hard])
    at_once(
        lambda: place(cast.child, pathway, easy, cast.coach),
        lambda: place(cast.child, pathway, hard, cast.head_coach),
    )
    assert Placement.objects.count() == 2
    assert Placement.objects.current().count() == 1


def test_a_restriction_reported_by_both_parents_at_once_is_one(cast, today):
    rule = Rule(Region.KNEE, Side.LEFT, RestrictionKind.NOTHING, today, today)
    at_once(
        lambda: restrict(cast.child, rule, cast.guardian, today),
        lambda: restrict(cast.child, rule, cast.coach, today),
    )
    assert Restriction.objects.count() == 1
