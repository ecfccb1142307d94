"""An invitation is worth what its inviter may: who is removed or switched off lets nobody in."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import Guardianship, Invitation, OutgoingMail, User
from athletes.models.invitations import InvitationRefused
from tests.support.children_pages import assert_well_made, text
from tests.support.factories import ChildFactory, UserFactory
from tests.support.invitations import agreed, invitations_in
from tests.support.roles import now_is
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


def invitation(by: User, child=None, **details) -> Invitation:
    details = {"email": "second.address@example.org", "role": "guardian"} | details
    return Invitation.objects.invite(**details, child=child, invited_by=by)[0]


def lets_in(invited: Invitation) -> bool:
    try:
        invited.accept(timezone.now(), name="Somebody")
    except InvitationRefused:
        return False
    return True


def remove(cast, client_for, guardian: User):
    guardianship = Guardianship.objects.get(child=cast.child, guardian=guardian)
    address = reverse("athletes:remove_guardian", args=[cast.child.public_id, guardianship.pk])
    return client_for(cast.head_coach).post(address)


def test_a_removed_guardian_does_not_come_back_by_an_own_invitation(cast, client_for):
    invited = invitation(cast.guardian, cast.child)
    remove(cast, client_for, cast.guardian)
    assert not lets_in(invited)
    assert not cast.child.guardians.exists()
    assert not Invitation.objects.open_at(timezone.now()).exists()


def test_what_a_removed_guardian_sent_for_another_child_stays(cast, client_for):
    sibling = ChildFactory(given_name="Nils", guardian=cast.guardian)
    invited = invitation(cast.guardian, sibling)
    remove(cast, client_for, cast.guardian)
    assert lets_in(invited)


def test_a_mail_of_a_removed_guardian_that_has_not_left_does_not_leave(
    cast, client_for, mailoutbox
):
    family = client_for(cast.guardian)
    address = reverse("program:invite_guardian", args=[cast.child.public_id])
    family.post(address, {"email": "second.address@example.org"})
    assert OutgoingMail.objects.filter(invitation__isnull=False).exists()
    remove(cast, client_for, cast.guardian)
    work_off()
    assert "second.address@example.org" not in [to for mail in mailoutbox for to in mail.to]


def test_whoever_is_switched_off_lets_nobody_in_any_more(cast):
    UserFactory(role="head_coach")  # the last one stays on
    sent = [
        (cast.guardian, {"child": cast.child}),
        (cast.coach, {"child": cast.child, "email": "dad@example.org"}),
        (cast.head_coach, {"role": "coach", "email": "friend@example.org"}),
    ]
    for person, details in sent:
        invited = invitation(person, **details)
        User.objects.filter(pk=person.pk).update(is_active=False)
        invited.refresh_from_db()
        assert invited.withdrawn_at, person
        assert not lets_in(invited), person


def test_who_is_switched_on_again_has_to_invite_anew(cast):
    invited = invitation(cast.guardian, cast.child)
    for is_active in (False, True):
        User.objects.filter(pk=cast.guardian.pk).update(is_active=is_active)
    assert not lets_in(invited)


def test_a_coach_lets_in_only_for_a_child_still_in_an_own_cohort(cast, today):
    yesterday = today - dt.timedelta(days=1)
    cases = [
        ("ends today", {"end": today}, True),
        ("begins next week", {"start": today + dt.timedelta(days=7), "end": None}, True),
        ("ended yesterday", {"start": yesterday, "end": yesterday}, False),
    ]
    for said, days, comes_in in cases:
        cast.child.enrolments.update(**{"start": yesterday, "end": None} | days)
        invited = invitation(cast.coach, cast.child, email=f"{said[:4]}.{said[-4:]}@example.org")
        assert lets_in(invited) is comes_in, said
    cast.child.enrolments.update(end=None)
    invited = invitation(cast.coach, cast.child, email="last@example.org")
    cast.cohort.coaches.remove(cast.coach)
    assert not lets_in(invited)


def test_only_a_head_coach_lets_a_coach_in(cast):
    UserFactory(role="head_coach")  # the last one stays on
    invited = invitation(cast.head_coach, role="coach", cohort=cast.cohort)
    agreed(invited)
    now_is(cast.head_coach, "coach")
    assert not lets_in(invited)
    assert list(cast.cohort.coaches.all()) == [cast.coach]


def test_a_guardian_lets_nobody_in_as_the_child(cast):
    cast.child.user = None
    cast.child.save()
    assert not lets_in(invitation(cast.guardian, cast.child, role="athlete"))


def test_the_page_for_removing_names_whom_that_person_invited(cast, client_for):
    invitation(cast.guardian, cast.child, email="aunt@example.org").accept(
        timezone.now(), name="Aunt"
    )
    invitation(cast.guardian, cast.child, email="waiting@example.org")
    sibling = ChildFactory(given_name="Nils", guardian=cast.guardian)
    invitation(cast.guardian, sibling, email="of.nils@example.org").accept(
        timezone.now(), name="Oma"
    )
    other = UserFactory(name="Of The Coach")
    invitation(cast.coach, cast.child, email=other.email)
    guardianship = Guardianship.objects.get(child=cast.child, guardian=cast.guardian)
    address = reverse("athletes:remove_guardian", args=[cast.child.public_id, guardianship.pk])
    answer = client_for(cast.head_coach).get(address)
    assert_well_made(answer)
    read = text(answer)
    assert "Own Parent invited Aunt" in read
    assert "waiting@example.org" in read
    for unsaid in ("Oma", "Of The Coach", "of.nils"):
        assert unsaid not in read
    aunts = Guardianship.objects.get(guardian__name="Aunt")
    assert reverse("athletes:remove_guardian", args=[cast.child.public_id, aunts.pk]) in (
        answer.content.decode()
    )


def test_a_withdrawn_invitation_keeps_no_mail_that_waits(cast, client_for, mailoutbox):
    coach = client_for(cast.coach)
    coach.post(
        reverse("athletes:invite_family", args=[cast.child.public_id]),
        {"email": "dad@example.org", "role": "guardian"},
    )
    invited = Invitation.objects.get()
    address = reverse(
        "athletes:withdraw_family_invitation", args=[cast.child.public_id, invited.pk]
    )
    assert coach.post(address).status_code == 302
    assert coach.post(address).status_code == 404
    work_off()
    assert not invitations_in(mailoutbox)
    assert not lets_in(invited)
