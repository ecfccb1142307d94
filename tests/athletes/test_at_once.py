"""Two people, or one impatient one, at the same moment."""

import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, transaction

from athletes.changes import Rule, place, restrict
from athletes.importing.drafts import draft_of, take_over
from athletes.models import (
    Child,
    Guardianship,
    ImportDraft,
    Invitation,
    Placement,
    Restriction,
    User,
)
from athletes.models.invitations import InvitationRefused
from library.body import Region, RestrictionKind, Side
from tests.support.factories import ExerciseFactory, PathwayFactory

pytestmark = pytest.mark.django_db(transaction=True)


def while_under_way(first, second):
    """The answers of an act and of another that begins before the first is committed."""

    def elsewhere():
        try:
            return second()
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        with transaction.atomic():
            answer = first()
            other = pool.submit(elsewhere)
            time.sleep(0.5)
            assert not other.done(), "the second did not wait for the first"
        return answer, other.result(timeout=10)


def test_a_double_press_on_add_imports_once(cast, now, today):
    content = b"given name,initial,dob,cohort,email\nLea,B,2014-02-03,Own cohort,a@example.org"
    draft = draft_of(content, None, cast.head_coach, now)

    def press():
        return take_over(
            ImportDraft.objects.get(pk=draft.pk), cast.head_coach, now, today, month_first=False
        )

    first, second = while_under_way(press, press)
    assert (first.added, second.added) == (1, 1)
    assert (len(first.invitations), len(second.invitations)) == (1, 0)
    assert Child.objects.filter(given_name="Lea").count() == 1


def test_of_two_coaches_who_place_a_child_at_once_the_later_one_holds(cast):
    easy, hard = ExerciseFactory(), ExerciseFactory()
    pathway = PathwayFactory(chain=[easy, hard])
    while_under_way(
        lambda: place(cast.child, pathway, easy, cast.coach),
        lambda: place(cast.child, pathway, hard, cast.head_coach),
    )
    assert Placement.objects.count() == 2
    assert Placement.objects.current().get().exercise == hard


def test_a_restriction_reported_by_both_parents_at_once_is_one(cast, today):
    rule = Rule(Region.KNEE, Side.LEFT, RestrictionKind.NOTHING, today, today)
    first, second = while_under_way(
        lambda: restrict(cast.child, rule, cast.guardian, today),
        lambda: restrict(cast.child, rule, cast.coach, today),
    )
    assert (first.changed, second.changed) == (True, False)
    assert Restriction.objects.count() == 1


def accept(invited: Invitation, now) -> bool:
    """Whether somebody came in."""
    try:
        invited.accept(now, name="Second address")
    except InvitationRefused:
        return False
    return True


def test_who_accepts_while_the_inviter_is_removed_or_switched_off_waits_and_stays_out(cast, now):
    removed = [
        lambda: Guardianship.objects.filter(guardian=cast.guardian).delete(),
        lambda: User.objects.filter(pk=cast.guardian.pk).update(is_active=False),
    ]
    for remove in removed:
        invited, _ = Invitation.objects.invite(
            "second@example.org", "guardian", cast.guardian, cast.child
        )
        _, came_in = while_under_way(remove, lambda invited=invited: accept(invited, now))
        assert not came_in
        cast.child.guardianships.get_or_create(guardian=cast.guardian)


def test_of_two_who_come_in_at_once_as_one_child_the_second_is_answered_in_words(cast, now):
    Child.objects.update(user=None)
    first, second = (
        Invitation.objects.invite(f"{n}@example.org", "athlete", cast.coach, cast.child)[0]
        for n in range(2)
    )
    for each in (first, second):
        each.agree(cast.guardian, now)
        each.refresh_from_db()
    both = while_under_way(lambda: accept(first, now), lambda: accept(second, now))
    assert both == (True, False)


def test_of_two_who_come_in_at_once_with_one_new_address_the_second_is_asked_to_sign_in(cast, now):
    first, second = (
        Invitation.objects.invite("a@example.org", "guardian", cast.head_coach, child)[0]
        for child in (cast.child, cast.other_child)
    )
    both = while_under_way(lambda: accept(first, now), lambda: accept(second, now))
    assert both == (True, False)
