"""Who changed what about people and children: recorded by the database, whatever wrote it."""

import datetime as dt

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from athletes.models import Enrolment, Guardianship, RecordedChange, Restriction, User
from library.shared.acting import writing_as
from tests.support.planning import queries_of
from tests.support.roles import now_is

pytestmark = pytest.mark.django_db

TODAY = dt.date(2026, 11, 4)


def recorded(**about):
    return RecordedChange.objects.filter(**about)


def restrict(cast, **said):
    details = {
        "region": "knee",
        "side": "left",
        "kind": "no_loading",
        "start": TODAY,
        "until": TODAY,
    }
    return Restriction.objects.create(child=cast.child, **(details | said))


def test_what_was_added_changed_and_removed_with_what_it_said_before_and_after(cast):
    restriction = restrict(cast, note="Sore.")
    about = {"table": "athletes_restriction", "row": restriction.pk}
    added = recorded(**about).get()
    assert (added.what, added.child, added.before) == ("added", cast.child, None)
    assert added.after["note"] == "Sore."
    Restriction.objects.update(note="Better.", lifted_on=TODAY)
    changed = recorded(**about, what="changed").get()
    assert changed.before == {"note": "Sore.", "lifted_on": None}
    assert changed.after == {"note": "Better.", "lifted_on": "2026-11-04"}
    restriction.delete()
    assert recorded(**about, what="removed").get().before["note"] == "Better."


def test_saving_what_says_the_same_records_nothing(cast):
    restriction = restrict(cast)
    before = RecordedChange.objects.count()
    restriction.save()
    cast.coach.wants_mail = not cast.coach.wants_mail
    cast.coach.save()
    assert RecordedChange.objects.count() == before


def test_roles_and_switching_off_are_recorded_of_the_person(cast):
    now_is(cast.coach, "head_coach")
    User.objects.filter(pk=cast.coach.pk).update(is_active=False)
    off, role = recorded(person=cast.coach, what="changed").order_by("-pk")
    assert (role.before, role.after) == ({"role": "coach"}, {"role": "head_coach"})
    assert (off.before, off.after) == ({"is_active": True}, {"is_active": False})
    assert role.child is None


def test_many_rows_of_one_statement_are_each_recorded(cast):
    Enrolment.objects.update(end=TODAY)
    children = recorded(table="athletes_enrolment", what="changed").values_list("child", flat=True)
    assert set(children) == {cast.child.pk, cast.other_child.pk}


def test_it_says_who_did_it_and_in_which_request(cast, client_for):
    address = reverse("athletes:lift_restriction", args=[cast.child.public_id, restrict(cast).pk])
    answer = client_for(cast.coach).post(address)
    change = recorded(table="athletes_restriction", what="changed").get()
    assert change.by == cast.coach
    assert change.request == answer.headers["X-Request-ID"]


def test_who_it_was_is_forgotten_with_the_request(cast):
    with writing_as(cast.coach.pk, "111-222-333"):
        restrict(cast)
    restrict(cast, side="right")
    first, second = recorded(table="athletes_restriction").order_by("pk")
    assert (first.by, first.request) == (cast.coach, "111-222-333")
    assert (second.by, second.request) == (None, "")


@pytest.mark.django_db(transaction=True)
def test_outside_of_a_transaction_each_statement_says_who_and_the_connection_keeps_nothing(cast):
    with writing_as(cast.head_coach.pk, "111-222-333"):
        Enrolment.objects.filter(child=cast.child).update(end=TODAY)
        with transaction.atomic():
            Guardianship.objects.create(child=cast.child, guardian=cast.nobody)
            Enrolment.objects.filter(child=cast.other_child).update(end=TODAY)
    Enrolment.objects.update(end=None)
    changes = recorded(what="changed", table="athletes_enrolment").order_by("pk")
    assert [each.by for each in changes] == [cast.head_coach, cast.head_coach, None, None]
    assert recorded(table="athletes_guardianship").latest("pk").by == cast.head_coach
    with connection.cursor() as cursor:
        cursor.execute("SELECT coalesce(current_setting('fledge.acting', true), '')")
        assert cursor.fetchone() == ("",)


def test_nobody_changes_what_was_recorded(cast):
    restrict(cast)
    for change in (
        lambda: RecordedChange.objects.update(what="added", by=None),
        lambda: RecordedChange.objects.all().delete(),
    ):
        with transaction.atomic():
            change()
            with pytest.raises(DatabaseError, match="never changed"):
                connection.check_constraints()
            transaction.set_rollback(True)


def test_a_head_coach_reads_it_in_words_and_nobody_else_does(cast, client_for):
    with writing_as(cast.coach.pk, "111-222-333"):
        restrict(cast, note="Sore.")
    Restriction.objects.update(note="Better.", lifted_on=TODAY, side="right")
    address = reverse("program:recorded_changes", args=[cast.child.public_id])
    page = " ".join(client_for(cast.head_coach).get(address).content.decode().split())
    assert "Restrictions: added" in page
    assert "Owning Coach" in page
    assert "note: “Sore.”, now “Better.”" in page
    assert "side: left, now right" in page
    assert "lifted: nothing, now 4 November 2026" in page
    assert page.index("now “Better.”") < page.index("Owning Coach")
    for person in (cast.coach, cast.guardian, cast.athlete):
        assert client_for(person).get(address).status_code == 404


def changes_of(person):
    return reverse("program:account_changes", args=[person.pk])


def test_what_changed_of_an_account_is_read_by_head_coaches_and_by_whoever_it_is(cast, client_for):
    with writing_as(cast.head_coach.pk, "111-222-333"):
        User.objects.filter(pk=cast.coach.pk).update(name="New Name")
        now_is(cast.coach, "head_coach")
        now_is(cast.coach, "coach")
    for person, address in (
        (cast.head_coach, changes_of(cast.coach)),
        (cast.coach, reverse("program:own_account_changes")),
    ):
        page = " ".join(client_for(person).get(address).content.decode().split())
        assert "role: coach, now head coach" in page
        assert "name: “Owning Coach”, now “New Name”" in page
        assert str(cast.head_coach) in page
        assert page.index("now coach") < page.index("now head coach")
    own = client_for(cast.guardian).get(reverse("program:own_account_changes"))
    assert "New Name" not in own.content.decode()
    for person in (cast.coach, cast.guardian, cast.athlete):
        assert client_for(person).get(changes_of(cast.coach)).status_code == 404


def test_the_way_there_stands_where_accounts_are(cast, client_for):
    head = client_for(cast.head_coach)
    assert changes_of(cast.coach) in head.get(reverse("athletes:people")).content.decode()
    child = head.get(reverse("athletes:child", args=[cast.child.public_id])).content.decode()
    assert changes_of(cast.guardian) in child
    places = client_for(cast.guardian).get(reverse("athletes:sign_ins")).content.decode()
    assert reverse("program:own_account_changes") in places


def test_more_changes_of_an_account_take_no_more_queries(cast, client_for):
    guardian, address = client_for(cast.guardian), reverse("program:own_account_changes")
    few = queries_of(guardian, address)
    for number in range(5):
        with writing_as(cast.coach.pk, "111-222-333"):
            User.objects.filter(pk=cast.guardian.pk).update(name=f"Parent {number}")
    assert queries_of(guardian, address) == few


def test_more_changes_take_no_more_queries(cast, client_for):
    head = client_for(cast.head_coach)
    address = reverse("program:recorded_changes", args=[cast.child.public_id])
    few = queries_of(head, address)
    for day in range(5):
        with writing_as(cast.coach.pk, "111-222-333"):
            Enrolment.objects.update(end=TODAY + dt.timedelta(days=day))
    assert queries_of(head, address) == few


def test_it_goes_with_the_child_and_with_the_account(cast):
    restrict(cast)
    User.objects.filter(pk=cast.guardian.pk).update(name="Somebody Else")
    assert recorded(child=cast.child).exists()
    child, guardian = cast.child.pk, cast.guardian.pk
    cast.child.delete()
    cast.guardian.delete()
    connection.check_constraints()
    assert not recorded(child=child).exists()
    assert not recorded(person=guardian).exists()
    assert recorded(child=cast.other_child).exists()
