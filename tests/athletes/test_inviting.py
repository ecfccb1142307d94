"""How many may be invited in a day, who hears of it, and what the answer tells of others."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from athletes.models import AccessRules, Child, Invitation
from athletes.models.invitations import MOST_A_DAY, TooManyInvitations
from tests.support.children_pages import errors_of, text
from tests.support.factories import ChildFactory, UserFactory
from tests.support.invitations import invitations_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

A_DAY = dt.timedelta(days=1)


def ask(client, child, email, role="guardian"):
    address = reverse("athletes:invite_family", args=[child.public_id])
    return client.post(address, {"email": email, "role": role})


def ask_as_guardian(client, child, email):
    return client.post(reverse("program:invite_guardian", args=[child.public_id]), {"email": email})


def sent_already(cast, by, number, *, ago=dt.timedelta()) -> None:
    Invitation.objects.bulk_create(
        Invitation(
            token_digest=f"{by.pk}-{n}",
            email=f"{n}@example.org",
            role="guardian",
            child=cast.child,
            invited_by=by,
            expires_at=timezone.now() + A_DAY,
        )
        for n in range(number)
    )
    Invitation.objects.update(created_at=timezone.now() - ago)


def test_an_invitation_names_who_invites_from_which_club_and_for_which_child(
    cast, client_for, mailoutbox
):
    AccessRules.objects.change(cast.head_coach, timezone.now(), club_name="Harbour Juniors")
    ask(client_for(cast.coach), cast.child, "gran@example.org")
    work_off()
    (mail,) = invitations_in(mailoutbox)
    assert mail.body.startswith(
        "Owning Coach of Harbour Juniors invites you to Fledge as parent or guardian of Mira."
    )
    # Whoever sees a phone's screen reads a subject.
    assert mail.subject == "You are invited to Fledge"


def test_where_no_club_is_named_the_invitation_names_whoever_invites(cast, client_for, mailoutbox):
    ask(client_for(cast.coach), cast.child, "gran@example.org")
    work_off()
    (mail,) = invitations_in(mailoutbox)
    assert "Owning Coach invites you to Fledge as parent or guardian of Mira." in mail.body


# How many


def test_a_guardian_invites_five_in_a_day_and_withdrawing_makes_no_room(
    cast, client_for, mailoutbox
):
    family = client_for(cast.guardian)
    for n in range(5):
        assert ask_as_guardian(family, cast.child, f"{n}@example.org").status_code == 302
    Invitation.objects.withdraw(timezone.now())
    answer = ask_as_guardian(family, cast.child, "6@example.org")
    assert "At most 5 people may be invited in 24 hours" in errors_of(answer)
    assert Invitation.objects.count() == 5


def test_a_day_later_there_is_room_again(cast, client_for):
    sent_already(cast, cast.guardian, 5, ago=A_DAY)
    answer = ask_as_guardian(client_for(cast.guardian), cast.child, "new@example.org")
    assert answer.status_code == 302


def test_coaches_have_room_for_a_club_and_an_end(cast, client_for):
    for person in (cast.coach, cast.head_coach):
        most = MOST_A_DAY[person.role]
        sent_already(cast, person, most - 1)
        browser = client_for(person)
        last, over = f"last{person.pk}@example.org", f"over{person.pk}@example.org"
        assert ask(browser, cast.child, last).status_code == 302
        assert f"At most {most} people" in errors_of(ask(browser, cast.child, over))
    head = client_for(cast.head_coach)
    fields = {"email": "coach@example.org", "role": "coach"}
    assert "At most 6000 people" in errors_of(head.post(reverse("athletes:invite_coach"), fields))
    assert not Invitation.objects.filter(email__startswith="over").exists()


def test_a_file_that_would_invite_too_many_is_refused_as_a_whole(cast, today):
    sent_already(cast, cast.coach, MOST_A_DAY["coach"] - 1)
    two = [(cast.child, "a@example.org"), (cast.child, "b@example.org")]
    with pytest.raises(TooManyInvitations, match="One more is possible now"):
        Invitation.objects.invite_guardians(two, cast.coach)
    Invitation.objects.invite_guardians(two[:1], cast.coach)


# Who hears


def test_the_family_and_the_coaches_hear_that_a_guardian_was_invited_and_by_whom(
    cast, client_for, mailoutbox, today
):
    second = UserFactory(name="Second Parent")
    cast.child.guardianships.create(guardian=second)
    cast.child.enrolments.create(
        cohort=cast.other_cohort, start=today - 9 * A_DAY, end=today - A_DAY
    )
    ask_as_guardian(client_for(cast.guardian), cast.child, "friend@example.org")
    work_off()
    (invited,) = [mail for mail in mailoutbox if mail.to == ["friend@example.org"]]
    notices = [mail for mail in mailoutbox if mail is not invited]
    assert {to for mail in notices for to in mail.to} == {second.email, cast.coach.email}
    for mail in notices:
        assert "Own Parent has invited another parent or guardian of Mira" in mail.body
        assert "friend@example.org" not in mail.body
        assert "Mira" not in mail.subject


def test_the_guardians_hear_when_a_coach_invites(cast, client_for, mailoutbox):
    ask(client_for(cast.coach), cast.child, "friend@example.org")
    work_off()
    assert [mail.to for mail in mailoutbox if "has invited" in mail.body] == [[cast.guardian.email]]


# What the answer tells of others


def test_a_coach_is_answered_the_same_whether_an_address_is_known_elsewhere_or_not(
    cast, client_for
):
    Child.objects.update(user=None, birth_date="2013-01-01")
    elsewhere = UserFactory(name="Spare Athlete", role="athlete")
    ChildFactory(given_name="Far", cohort=cast.other_cohort, user=elsewhere)
    coach = client_for(cast.coach)
    cases = [
        ("guardian", elsewhere),
        ("guardian", cast.other_guardian),
        ("athlete", elsewhere),
        ("athlete", cast.other_guardian),
        ("athlete", cast.head_coach),
    ]
    for n, (role, person) in enumerate(cases):
        for email in (person.email, f"unknown{n}@example.org"):
            answer = ask(coach, cast.child, email, role)
            assert answer.status_code == 302, (role, email)
            said = text(coach.get(answer.headers["location"]))
            words = {
                "guardian": f"An invitation is on its way to {email}.",
                "athlete": "The parents are asked whether Mira may sign in.",
            }
            assert words[role] in said
        Invitation.objects.withdraw(timezone.now())
    head = client_for(cast.head_coach)
    for role, person in cases[0], cases[3]:
        assert ask(head, cast.child, person.email, role).status_code == 200
