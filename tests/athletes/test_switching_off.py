"""A head coach switches somebody off at once, and on again."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from athletes.mailing import written_mail
from athletes.models import Invitation, OutgoingMail, Role, SignIn, User
from athletes.switching_off import StaysOn, switch_off
from program.models import CalendarFeed
from tests.support.factories import UserFactory
from tests.support.roles import now_is

pytestmark = pytest.mark.django_db

OWN_PAGE = reverse("athletes:mail_setting")


@pytest.fixture
def head(cast, client_for):
    return client_for(cast.head_coach)


def press(client, act: str, person: User):
    return client.post(reverse(f"athletes:switch_{act}", args=[person.pk]), follow=True)


def test_whoever_is_switched_off_is_out_at_once_and_nothing_of_theirs_still_works(
    cast, client_for, head, client
):
    parent = client_for(cast.guardian)
    parent.post(reverse("program:calendar_address"), {"act": "make"})
    calendar = reverse("program:calendar", args=[CalendarFeed.objects.get().key])
    Invitation.objects.invite("aunt@x.example", Role.GUARDIAN, cast.guardian, cast.child)
    Invitation.objects.invite(cast.guardian.email, Role.COACH, cast.head_coach)
    kept, _ = Invitation.objects.invite("new@x.example", Role.COACH, cast.head_coach)
    mails = [written_mail(to, "A", "B") for to in (cast.guardian.email, cast.coach.email)]
    OutgoingMail.objects.bulk_create(mails)

    assert "is switched off" in press(head, "off", cast.guardian).content.decode()
    assert parent.get(OWN_PAGE).status_code == 302
    assert client.get(calendar).status_code == 404
    assert not SignIn.objects.filter(user=cast.guardian).exists()
    assert not CalendarFeed.objects.exists()
    assert list(Invitation.objects.open_at(timezone.now())) == [kept]
    assert [mail.to for mail in OutgoingMail.objects.all()] == [cast.coach.email]
    child = head.get(reverse("athletes:child", args=[cast.child.public_id])).content.decode()
    assert "Switch on Own Parent" in child

    press(head, "on", cast.guardian)
    assert client.get(calendar).status_code == 404
    assert client_for(cast.guardian).get(OWN_PAGE).status_code == 200


def test_nobody_but_a_head_coach_switches_anybody_off(cast, client_for):
    for person in (cast.coach, cast.guardian, cast.athlete):
        for act in ("off", "on"):
            assert press(client_for(person), act, cast.other_coach).status_code == 404
    assert User.objects.get(pk=cast.other_coach.pk).is_active


def test_nobody_switches_off_themselves_or_the_last_head_coach(cast, head):
    assert "Nobody switches themselves off" in press(head, "off", cast.head_coach).content.decode()
    second = UserFactory(role=Role.HEAD_COACH)
    switch_off(cast.head_coach, second)
    with pytest.raises(StaysOn):  # who had the page open, and is off by now
        switch_off(second, cast.head_coach)
    assert User.objects.filter(role=Role.HEAD_COACH, is_active=True).get() == second


def test_the_database_itself_keeps_one_head_coach_on(cast):
    with pytest.raises(IntegrityError, match="last head coach"), transaction.atomic():
        User.objects.filter(pk=cast.head_coach.pk).update(is_active=False)
    with pytest.raises(IntegrityError, match="last head coach"), transaction.atomic():
        now_is(cast.head_coach, Role.COACH)
    UserFactory(role=Role.HEAD_COACH)
    now_is(cast.head_coach, Role.COACH)


def test_what_fails_halfway_leaves_everything_as_it_was(cast, client_for, monkeypatch):
    guardian = client_for(cast.guardian)

    def fail(*args):
        raise ZeroDivisionError

    monkeypatch.setattr("program.family.calendar_feed.revoke", fail)
    with pytest.raises(ZeroDivisionError):
        switch_off(cast.guardian, cast.head_coach)
    assert guardian.get(OWN_PAGE).status_code == 200
