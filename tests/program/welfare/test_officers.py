"""Head coaches name the welfare officers, and none makes themself one unnoticed."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from athletes.models import Child, Invitation, User
from program.models import WelfareOfficer
from program.privacy.retention import let_go
from program.welfare import naming
from tests.program.welfare.test_concerns import officer
from tests.support.children_pages import assert_well_made, text
from tests.support.factories import UserFactory
from tests.support.invitations import come_in, invitations_in, link_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

ADDRESS = "program:welfare_officers"
A_DAY = dt.timedelta(days=1)


def name(client, person):
    return client.post(reverse(ADDRESS), {"do": "name", "person": person.pk})


def in_force():
    return {each.person for each in WelfareOfficer.objects.in_force()}


@pytest.fixture
def second(cast):
    return UserFactory(name="Second Head", role="head_coach")


@pytest.fixture
def later(monkeypatch):
    def go_on(by):
        then = timezone.now() + by
        monkeypatch.setattr("django.utils.timezone.now", lambda: then)

    return go_on


def press(client, do, person):
    held = WelfareOfficer.objects.standing().get(person=person)
    return client.post(reverse(ADDRESS), {"do": do, "officer": held.pk})


def told(mailoutbox):
    work_off()
    return sorted(to for mail in mailoutbox for to in mail.to)


def test_a_coach_or_a_parent_is_named_and_agreed_to_by_a_second_head_coach_and_never_a_child(
    cast, second, client_for
):
    head = client_for(cast.head_coach)
    for person in (cast.other_coach, cast.guardian, cast.athlete):
        name(head, person)
    assert in_force() == set()
    for person in (cast.other_coach, cast.guardian):
        press(head, "confirm", person)
        assert person not in in_force(), "not by whoever named them"
        press(client_for(second), "confirm", person)
    assert in_force() == {cast.other_coach, cast.guardian}
    page = client_for(cast.other_guardian).get(reverse("program:welfare")).text
    assert "Other Coach" in page
    assert "Own Parent" in page


def test_nobody_agrees_to_themself(cast, second, client_for):
    name(client_for(cast.head_coach), second)
    press(client_for(second), "confirm", second)
    assert in_force() == set()


def test_of_an_only_head_coach_it_holds_a_day_later_and_the_officers_there_know_at_once(
    cast, client_for, later, mailoutbox
):
    there = officer()
    name(client_for(cast.head_coach), cast.nobody)
    assert told(mailoutbox) == sorted([there.email, cast.nobody.email])
    held = WelfareOfficer.objects.get(person=cast.nobody)
    naming.take_up(officer=held.pk, origin="https://a.example")
    assert in_force() == {there}
    later(A_DAY + dt.timedelta(minutes=1))
    naming.take_up(officer=held.pk, origin="https://a.example")
    assert in_force() == {there, cast.nobody}


def test_an_officer_is_taken_off_by_two_and_reads_on_until_then(
    cast, second, client_for, mailoutbox
):
    first, other = officer(), officer("Otto Officer")
    head = client_for(cast.head_coach)
    press(head, "end", other)
    assert in_force() == {first, other}
    assert told(mailoutbox) == sorted([first.email, other.email, second.email])
    page = client_for(second).get(reverse(ADDRESS))
    assert_well_made(page)
    assert "Head Coach asks to take them off" in text(page)
    press(head, "confirm", other)
    assert in_force() == {first, other}
    mailoutbox.clear()
    press(client_for(second), "confirm", other)
    assert in_force() == {first}
    assert told(mailoutbox) == sorted([first.email, other.email, cast.head_coach.email])


def test_an_only_head_coach_takes_an_officer_off_a_day_later_and_may_leave_it(
    cast, client_for, later
):
    first, other = officer(), officer("Otto Officer")
    head = client_for(cast.head_coach)
    for person in (first, other):
        press(head, "end", person)
    press(head, "keep", first)
    held = WelfareOfficer.objects.get(person=other)
    naming.take_up(officer=held.pk, origin="https://a.example")
    assert in_force() == {first, other}
    later(A_DAY + dt.timedelta(minutes=1))
    for person in (first, other):
        pk = WelfareOfficer.objects.get(person=person).pk
        naming.take_up(officer=pk, origin="https://a.example")
    assert in_force() == {first}


def test_who_is_an_officer_themself_steps_down_at_once(cast, second, client_for):
    WelfareOfficer.objects.create(
        person=cast.head_coach, named_at=timezone.now(), in_force_since=timezone.now()
    )
    press(client_for(cast.head_coach), "end", cast.head_coach)
    assert in_force() == set()


def test_somebody_from_outside_is_invited_as_an_officer_and_sees_no_child(
    cast, second, client_for, client, mailoutbox
):
    head = client_for(cast.head_coach)
    there = officer()
    answer = head.post(reverse(ADDRESS), {"do": "invite", "email": "ada@x.example"}, follow=True)
    assert "another head coach agrees" in answer.text
    assert told(mailoutbox) == sorted([there.email, second.email])
    invited = Invitation.objects.get()
    assert "as welfare officer" in client_for(second).get(reverse("athletes:people")).text
    mailoutbox.clear()
    client_for(second).post(reverse("athletes:agree_to_invitation", args=[invited.pk]))
    work_off()
    (mail,) = invitations_in(mailoutbox)
    assert "as welfare officer" in mail.body
    come_in(client, link_in(mail), "Ada Lind")
    ada = User.objects.get(name="Ada Lind")
    assert in_force() == {there, ada}
    assert there.email in told(mailoutbox)
    assert not Child.objects.visible_to(ada).exists()
    assert client.get(reverse("program:concerns")).status_code == 200
    held = WelfareOfficer.objects.get(person=ada)
    assert (held.named_by, held.confirmed_by) == (cast.head_coach, second)


def test_whoever_has_an_account_is_named_and_not_invited(cast, client_for):
    sent = {"do": "invite", "email": cast.nobody.email.upper()}
    answer = client_for(cast.head_coach).post(reverse(ADDRESS), sent)
    assert "Name them" in answer.text
    assert not Invitation.objects.exists()


def test_an_officers_account_is_kept_although_no_child_needs_it(cast):
    old = timezone.now() - 91 * A_DAY
    User.objects.filter(pk=cast.nobody.pk).update(created_at=old)
    WelfareOfficer.objects.create(person=cast.nobody, named_at=old, in_force_since=old)
    let_go(timezone.now())
    assert in_force() == {cast.nobody}


def test_the_database_lets_nobody_begin_or_end_by_one_head_coach_alone(cast, second):
    now = timezone.now()
    by_one = {"person": cast.nobody, "named_by": second, "named_at": now}
    wrong = [
        {"in_force_since": now},
        {"in_force_since": now, "confirmed_by": second},
        {"in_force_since": now + A_DAY - dt.timedelta(minutes=1), "confirmed_by": second},
        {"in_force_since": now, "confirmed_by": cast.nobody},
    ]
    for said in wrong:
        with pytest.raises(IntegrityError), transaction.atomic():
            WelfareOfficer.objects.create(**by_one, **said)
    held = WelfareOfficer.objects.create(**by_one, in_force_since=now, confirmed_by=cast.head_coach)
    row = WelfareOfficer.objects.filter(pk=held.pk)
    asked = {"ending_asked_by": second, "ending_asked_at": now}
    for said in ({}, asked | {"ended_by": second}):
        with pytest.raises(IntegrityError), transaction.atomic():
            row.update(ended_at=now, **({"ended_by": second} | said))
    row.update(ended_at=now, **asked, ended_by=cast.head_coach)


def test_named_twice_is_once(cast, client_for):
    head = client_for(cast.head_coach)
    name(head, cast.other_coach)
    name(head, cast.other_coach)
    assert WelfareOfficer.objects.count() == 1
    with pytest.raises(IntegrityError), transaction.atomic():
        WelfareOfficer.objects.create(person=cast.other_coach, named_at=timezone.now())


def test_whoever_is_switched_off_is_no_officer(cast):
    person = officer()
    person.is_active = False
    person.save()
    assert in_force() == set()


def test_the_programs_own_words_say_whom_to_ring(cast, client_for):
    words = {"do": "words", "whom_to_ring": "Ada: 01632 960111", "emergency_number": "112"}
    client_for(cast.head_coach).post(reverse(ADDRESS), words)
    page = client_for(cast.guardian).get(reverse("program:welfare")).text
    assert "01632 960111" in page
    assert "112" in page
