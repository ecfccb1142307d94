import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import Invitation, User
from athletes.models.invitations import InvitationRefused
from tests.support.factories import UserFactory
from tests.support.invitations import come_in, link_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


def invite(cast, **details):
    details = {"email": "new.parent@example.org", "role": "guardian", "child": cast.child} | details
    return Invitation.objects.invite(**details, invited_by=cast.head_coach)


def test_an_invited_parent_comes_in_and_sees_the_child(cast, client):
    _, token = invite(cast)
    answer = come_in(client, reverse("athletes:accept", args=[token]), "New Parent")
    assert answer.status_code == 302
    parent = User.objects.get(email="new.parent@example.org")
    assert client.session["_auth_user_id"] == str(parent.pk)
    assert list(parent.children.all()) == [cast.child]


def test_an_invitation_works_once(cast, client):
    _, token = invite(cast)
    address = reverse("athletes:accept", args=[token])
    come_in(client, address, "New Parent")
    client.logout()
    assert come_in(client, address, "Somebody Else").status_code == 409
    assert not User.objects.filter(name="Somebody Else").exists()


def test_of_two_people_who_use_one_link_at_once_the_second_is_not_let_in(cast):
    invitation, token = invite(cast)
    same_again = Invitation.objects.with_token(token).get()
    assert invitation.accept(timezone.now(), name="First").name == "First"
    with pytest.raises(InvitationRefused, match="does not work any more"):
        same_again.accept(timezone.now(), name="Second")
    assert not User.objects.filter(name="Second").exists()


def test_an_invitation_expires_after_seven_days(cast):
    invite(cast)
    almost = timezone.now() + dt.timedelta(days=6, hours=23)
    past = timezone.now() + dt.timedelta(days=7, minutes=1)
    assert Invitation.objects.open_at(almost).exists()
    assert not Invitation.objects.open_at(past).exists()


def test_the_database_keeps_only_a_digest_of_the_token(cast):
    invitation, token = invite(cast)
    assert token not in str(Invitation.objects.filter(pk=invitation.pk).values().get())


def test_the_mail_carries_the_link_and_no_child_in_its_subject(
    cast, client_for, client, mailoutbox
):
    head = client_for(cast.head_coach)
    head.post(
        reverse("athletes:invite_coach"),
        {"email": "Second.Coach@example.org", "role": "coach", "cohort": cast.cohort.pk},
    )
    second = UserFactory(role="head_coach")
    agree = reverse("athletes:agree_to_invitation", args=[Invitation.objects.get().pk])
    client_for(second).post(agree)
    work_off()
    (mail,) = mailoutbox
    assert mail.to == ["second.coach@example.org"]
    assert mail.subject == "You are invited to Fledge"
    assert come_in(client, link_in(mail), "Second Coach").status_code == 302
    assert cast.cohort.coaches.filter(email="second.coach@example.org").exists()


def test_an_address_that_already_signs_in_is_refused_at_the_field(cast, client_for, mailoutbox):
    answer = client_for(cast.head_coach).post(
        reverse("athletes:invite_coach"), {"email": cast.coach.email.upper(), "role": "coach"}
    )
    assert "Somebody already signs in with this email address." in answer.content.decode()
    assert not mailoutbox


def invite_coach(cast, client_for, email="second.coach@example.org"):
    fields = {"email": email, "role": "coach"}
    return client_for(cast.head_coach).post(reverse("athletes:invite_coach"), fields)


def test_a_coachs_address_longer_than_any_is_refused_at_the_field(cast, client_for):
    answer = invite_coach(cast, client_for, f"coach@{'long.' * 50}example.org")
    assert "An email address has at most 254 characters." in answer.content.decode()
    assert not Invitation.objects.exists()


def test_a_coach_is_invited_once_by_an_impatient_finger(cast, client_for):
    invite_coach(cast, client_for)
    answer = invite_coach(cast, client_for, "Second.Coach@example.org")
    assert "An invitation to this address is still open." in answer.content.decode()
    assert Invitation.objects.count() == 1


def test_a_withdrawn_invitation_no_longer_works(cast, client_for, client):
    invitation, token = invite(cast)
    client_for(cast.head_coach).post(reverse("athletes:withdraw_invitation", args=[invitation.pk]))
    address = reverse("athletes:accept", args=[token])
    assert come_in(client, address, "New Parent").status_code == 409
    assert not User.objects.filter(name="New Parent").exists()


def test_a_cohort_whose_ages_run_backwards_is_refused_at_the_field(cast, client_for):
    answer = client_for(cast.head_coach).post(
        reverse("athletes:new_cohort"), {"name": "Backwards", "youngest": 14, "oldest": 9}
    )
    assert "Ages run from 4 to 21, the youngest first." in answer.content.decode()
