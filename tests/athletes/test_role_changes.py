"""Who coaches is changed by two head coaches, or by the only one and a day."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from athletes import role_changes
from athletes.models import Invitation, Role, RoleChange, SignIn, User
from athletes.models.invitations import InvitationRefused
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.factories import UserFactory
from tests.support.invitations import come_in, invitations_in, link_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

PEOPLE = reverse("athletes:people")
CHANGE = reverse("athletes:change_role")
INVITE = reverse("athletes:invite_coach")
A_DAY = dt.timedelta(days=1)


@pytest.fixture
def second(cast) -> User:
    return UserFactory(name="Second Head", role=Role.HEAD_COACH)


@pytest.fixture
def head(cast, client_for):
    return client_for(cast.head_coach)


@pytest.fixture
def later(monkeypatch):
    """So much time goes by."""

    def go_on(by: dt.timedelta) -> None:
        then = timezone.now() + by
        monkeypatch.setattr("django.utils.timezone.now", lambda: then)

    return go_on


def ask(client, person: User, role: str):
    return client.post(CHANGE, {"person": person.pk, "role": role}, follow=True)


def agree(client, change: RoleChange):
    return client.post(reverse("athletes:agree_to_role", args=[change.pk]), follow=True)


def role_of(person: User) -> str:
    return User.objects.get(pk=person.pk).role


def told(mailoutbox, *people: User) -> bool:
    work_off()
    return sorted(to for mail in mailoutbox for to in mail.to) == sorted(p.email for p in people)


def test_a_coach_is_a_head_coach_once_a_second_head_coach_agrees(
    cast, second, head, client_for, mailoutbox
):
    at_work = client_for(cast.coach)
    assert "another head coach agrees" in text(ask(head, cast.coach, Role.HEAD_COACH))
    assert role_of(cast.coach) == Role.COACH
    assert told(mailoutbox, second, cast.coach)
    assert "Owning Coach" not in "".join(mail.subject for mail in mailoutbox)
    page = client_for(second).get(PEOPLE)
    assert_well_made(page)
    assert "Head Coach asks that Owning Coach, coach, become head coach" in text(page)
    mailoutbox.clear()

    agree(client_for(second), RoleChange.objects.get())
    assert role_of(cast.coach) == Role.HEAD_COACH
    assert told(mailoutbox, cast.head_coach, cast.coach)
    assert not SignIn.objects.filter(user=cast.coach).exists(), "signed in as who they were"
    assert at_work.get(PEOPLE).status_code == 302
    assert client_for(cast.coach).get(PEOPLE).status_code == 200


def test_whoever_asked_does_not_agree_while_there_is_another(cast, second, head, later):
    ask(head, cast.coach, Role.HEAD_COACH)
    later(A_DAY * 2)
    agree(head, RoleChange.objects.get())
    role_changes.take_up(change=RoleChange.objects.get().pk, origin="https://a.example")
    assert role_of(cast.coach) == Role.COACH


def test_of_an_only_head_coach_it_holds_a_day_later_by_itself(cast, head, later, mailoutbox):
    assert "in a day" in text(ask(head, cast.coach, Role.HEAD_COACH))
    change = RoleChange.objects.get()
    assert told(mailoutbox, cast.coach)
    agree(head, change)
    role_changes.take_up(change=change.pk, origin="https://a.example")
    assert role_of(cast.coach) == Role.COACH
    later(A_DAY + dt.timedelta(minutes=1))
    role_changes.take_up(change=change.pk, origin="https://a.example")
    role_changes.take_up(change=change.pk, origin="https://a.example")  # by a second worker
    assert role_of(cast.coach) == Role.HEAD_COACH
    mailoutbox.clear()
    assert told(mailoutbox, cast.coach, cast.head_coach)


def test_who_is_left_as_the_only_head_coach_agrees_to_what_has_waited_for_a_day(
    cast, second, head, client_for, later
):
    ask(head, cast.coach, Role.HEAD_COACH)
    User.objects.filter(pk=second.pk).update(is_active=False)
    assert "Agree about Owning Coach" not in head.get(PEOPLE).text
    later(A_DAY)
    head = client_for(cast.head_coach)
    assert "Agree about Owning Coach" in head.get(PEOPLE).text
    agree(head, RoleChange.objects.get())
    assert role_of(cast.coach) == Role.HEAD_COACH


def test_meanwhile_it_is_taken_back(cast, head, later, mailoutbox):
    ask(head, cast.coach, Role.GUARDIAN)
    change = RoleChange.objects.get()
    work_off()
    mailoutbox.clear()
    head.post(reverse("athletes:take_back_role", args=[change.pk]))
    assert told(mailoutbox, cast.coach)
    assert "Owning Coach, coach, become" not in text(head.get(PEOPLE))
    ask(head, cast.coach, Role.HEAD_COACH)
    assert RoleChange.objects.count() == 2
    later(A_DAY * 2)
    role_changes.take_up(change=change.pk, origin="https://a.example")
    assert role_of(cast.coach) == Role.COACH


def test_who_coaches_no_more_coaches_no_cohort_and_keeps_an_own_child(
    cast, second, head, client_for
):
    cast.other_child.guardianships.create(guardian=cast.coach)
    ask(head, cast.coach, Role.GUARDIAN)
    agree(client_for(second), RoleChange.objects.get())
    assert list(cast.cohort.coaches.all()) == []
    coach = User.objects.get(pk=cast.coach.pk)
    assert list(type(cast.child).objects.visible_to(coach)) == [cast.other_child]


def test_a_parent_is_made_a_coach(cast, second, head, client_for):
    ask(head, cast.nobody, Role.COACH)
    agree(client_for(second), RoleChange.objects.get())
    assert client_for(cast.nobody).get(reverse("program:week")).status_code == 200


def test_what_is_no_change_or_leaves_no_head_coach_is_refused_at_the_field(cast, head):
    assert "is a coach already" in errors_of(ask(head, cast.coach, Role.COACH))
    assert "no head coach would be left" in errors_of(ask(head, cast.head_coach, Role.COACH))
    assert errors_of(ask(head, cast.athlete, Role.COACH))
    ask(head, cast.coach, Role.GUARDIAN)
    assert "asked already" in errors_of(ask(head, cast.coach, Role.HEAD_COACH))


def test_nobody_but_a_head_coach_asks_or_agrees(cast, head, client_for):
    ask(head, cast.other_coach, Role.HEAD_COACH)
    change = RoleChange.objects.get()
    for person in (cast.coach, cast.guardian, cast.athlete):
        client = client_for(person)
        assert ask(client, person, Role.HEAD_COACH).status_code == 404
        assert agree(client, change).status_code == 404


def test_the_database_lets_no_role_change_without_both(cast, second):
    now = timezone.now()
    with pytest.raises(IntegrityError, match="two people"), transaction.atomic():
        User.objects.filter(pk=cast.coach.pk).update(role=Role.HEAD_COACH)
    asked = {"person": cast.coach, "was": Role.COACH, "role": Role.HEAD_COACH, "asked_at": now}
    by_one = asked | {"asked_by": second, "agreed_by": second}
    for at in (now, now + A_DAY - dt.timedelta(minutes=1)):
        with pytest.raises(IntegrityError, match="second_person_or_a_day"), transaction.atomic():
            RoleChange.objects.create(**by_one, agreed_at=at)
    RoleChange.objects.create(**by_one, agreed_at=now + A_DAY)
    User.objects.filter(pk=cast.coach.pk).update(role=Role.HEAD_COACH)
    with pytest.raises(IntegrityError, match="two people"), transaction.atomic():
        User.objects.filter(pk=cast.coach.pk).update(role=Role.COACH)
    # And not once more by what was agreed then.
    back = asked | {"was": Role.HEAD_COACH, "role": Role.COACH}
    RoleChange.objects.create(
        **back, asked_by=second, agreed_by=cast.head_coach, agreed_at=now + 2 * A_DAY
    )
    User.objects.filter(pk=cast.coach.pk).update(role=Role.COACH)
    with pytest.raises(IntegrityError, match="two people"), transaction.atomic():
        User.objects.filter(pk=cast.coach.pk).update(role=Role.HEAD_COACH)


# An invitation to coach


def invite(client, **more):
    return client.post(INVITE, {"email": "new@x.example", "role": "coach"} | more, follow=True)


def agree_to_invitation(client):
    invited = Invitation.objects.get()
    return client.post(reverse("athletes:agree_to_invitation", args=[invited.pk]), follow=True)


def test_an_invitation_to_coach_is_mailed_once_a_second_head_coach_agrees(
    cast, second, head, client_for, client, mailoutbox
):
    assert "another head coach agrees" in text(invite(head, cohort=cast.cohort.pk))
    assert told(mailoutbox, second)
    mailoutbox.clear()
    assert_well_made(head.get(PEOPLE))
    agree_to_invitation(head)
    assert told(mailoutbox)
    agree_to_invitation(client_for(second))
    work_off()
    (mail,) = invitations_in(mailoutbox)
    assert mail.to == ["new@x.example"]
    assert come_in(client, link_in(mail), "New Coach").status_code == 302
    assert cast.cohort.coaches.filter(name="New Coach").exists()


def test_a_parents_address_is_invited_to_coach_and_nobody_elses_who_is_here(cast, head):
    for person in (cast.coach, cast.athlete, UserFactory(name="Gone", is_active=False)):
        answer = head.post(INVITE, {"email": person.email, "role": "coach"})
        assert "already signs in" in errors_of(answer), person
    head.post(INVITE, {"email": cast.guardian.email, "role": "coach"})
    assert Invitation.objects.get().email == cast.guardian.email
    assert role_of(cast.guardian) == Role.GUARDIAN


def test_an_only_head_coachs_invitation_leaves_a_day_later(cast, head, later, mailoutbox):
    assert "in a day" in text(invite(head))
    invited = Invitation.objects.get()
    role_changes.send_invitation(invitation=invited.pk, origin="https://a.example")
    assert told(mailoutbox)
    later(A_DAY + dt.timedelta(minutes=1))
    role_changes.send_invitation(invitation=invited.pk, origin="https://a.example")
    role_changes.send_invitation(invitation=invited.pk, origin="https://a.example")
    assert told(mailoutbox, User(email="new@x.example"))
    assert "https://a.example/invitation/" in mailoutbox[0].body


def test_what_nobody_has_agreed_to_lets_nobody_coach_whatever_link_they_hold(cast):
    invited, _ = Invitation.objects.invite("new@x.example", Role.COACH, cast.head_coach)
    with pytest.raises(InvitationRefused, match="head coach has to agree"):
        invited.accept(timezone.now(), name="New")
    with pytest.raises(IntegrityError), transaction.atomic():
        Invitation.objects.update(used_at=timezone.now())
    now = timezone.now()
    with pytest.raises(IntegrityError), transaction.atomic():
        Invitation.objects.update(agreed_at=now, agreed_by=cast.head_coach)
