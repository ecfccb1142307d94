"""A young athlete's own sign-in: a coach asks, a guardian agrees, from an age the program sets."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from athletes.mailing import written_mail
from athletes.models import AccessRules, Child, Invitation, OutgoingMail, User
from athletes.models.invitations import InvitationRefused
from program.models import Concern, Question
from tests.support.children_pages import assert_well_made, errors_of, text
from tests.support.factories import UserFactory
from tests.support.invitations import come_in, invitations_in, link_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture
def teenager(cast) -> Child:
    """Mira, thirteen today and without an own sign-in."""
    Child.objects.filter(pk=cast.child.pk).update(user=None, birth_date="2013-11-04")
    cast.child.refresh_from_db()
    return cast.child


def ask(client, child, email="mira@example.org"):
    address = reverse("athletes:invite_family", args=[child.public_id])
    return client.post(address, {"email": email, "role": "athlete"}, follow=True)


def page(child) -> str:
    return reverse("athletes:own_sign_in", args=[child.public_id])


def test_a_coachs_click_only_asks_and_a_guardians_agreement_invites(
    cast, teenager, coach, client_for, client, mailoutbox
):
    answer = ask(coach, teenager)
    assert "The parents are asked whether Mira may sign in" in text(answer)
    assert "asked for; a parent or guardian has to agree" in text(answer)
    work_off()
    assert [mail.to for mail in mailoutbox] == [[cast.guardian.email]]
    assert page(teenager) in mailoutbox[0].body
    assert "mira@example.org" not in mailoutbox[0].body
    family = client_for(cast.guardian)
    read = text(family.get(page(teenager)))
    assert_well_made(family.get(page(teenager)))
    assert "Owning Coach asks whether Mira may sign in here with mira@example.org" in read
    family.post(page(teenager), {"do": "agree"})
    work_off()
    (mail,) = invitations_in(mailoutbox)
    assert mail.to == ["mira@example.org"]
    assert come_in(client, link_in(mail), "Mira").status_code == 302
    teenager.refresh_from_db()
    assert teenager.user.email == "mira@example.org"
    invited = Invitation.objects.get()
    assert (invited.agreed_by, invited.accepted_by) == (cast.guardian, teenager.user)


def test_a_guardian_who_would_rather_not_ends_it_before_and_after_another_agreed(
    cast, teenager, coach, client_for, client, mailoutbox
):
    second = UserFactory(name="Second Parent")
    teenager.guardianships.create(guardian=second)
    ask(coach, teenager)
    client_for(cast.guardian).post(page(teenager), {"do": "agree"})
    read = text(client_for(second).get(page(teenager)))
    assert "Own Parent agreed" in read
    client_for(second).post(page(teenager), {"do": "decline"})
    work_off()
    assert not invitations_in(mailoutbox)
    assert "Mira has none" in text(client_for(second).get(page(teenager)))


def test_without_an_agreement_nobody_comes_in_whatever_link_they_hold(cast, teenager):
    invited, _ = Invitation.objects.invite("mira@example.org", "athlete", cast.coach, teenager)
    with pytest.raises(InvitationRefused, match="parent or guardian has to agree"):
        invited.accept(timezone.now(), name="Mira")
    with pytest.raises(IntegrityError), transaction.atomic():
        Invitation.objects.update(used_at=timezone.now())


def test_nobody_but_the_childs_guardians_agrees(cast, teenager, coach, client_for):
    ask(coach, teenager)
    for person in (cast.coach, cast.head_coach, cast.other_guardian, cast.nobody):
        assert client_for(person).post(page(teenager), {"do": "agree"}).status_code == 404
    assert Invitation.objects.get().agreed_at is None


def test_the_program_sets_from_which_age(cast, teenager, coach):
    birthday = dt.date(2013, 11, 4)
    Child.objects.update(birth_date=birthday + dt.timedelta(days=1))
    assert "from the age of 13" in errors_of(ask(coach, teenager))
    AccessRules.objects.change(cast.head_coach, timezone.now(), own_sign_in_from=12)
    assert "The parents are asked" in text(ask(coach, teenager))


def test_without_a_guardian_there_is_nobody_to_agree(cast, teenager, coach):
    teenager.guardianships.all().delete()
    assert "Invite a parent or guardian first" in errors_of(ask(coach, teenager))


def test_a_young_athlete_opens_but_says_nothing_of_the_home_and_measures_nothing(cast, client_for):
    own = client_for(cast.athlete)
    ids = [cast.child.public_id]
    for name in ("athletes:kit", "athletes:growth", "athletes:own_sign_in"):
        assert own.get(reverse(name, args=ids)).status_code == 404, name
        assert own.post(reverse(name, args=ids), {"nothing": "on"}).status_code == 404, name
    assert own.get(reverse("program:invite_guardian", args=ids)).status_code == 404
    assert own.get(reverse("program:child_day", args=ids)).status_code == 200


# Ended, and begun anew


def end(client, child):
    return client.post(page(child), {"do": "end"}, follow=True)


def start(client, child, email="mira@x.example"):
    return client.post(page(child), {"do": "start", "email": email}, follow=True)


@pytest.fixture
def mira(cast) -> Child:
    """Thirteen, with an own sign-in."""
    Child.objects.filter(pk=cast.child.pk).update(birth_date="2013-11-04")
    cast.child.refresh_from_db()
    return cast.child


def test_a_guardian_ends_it_and_it_is_signed_out_everywhere_at_once(
    cast, mira, client_for, mailoutbox
):
    second = UserFactory(name="Second Parent")
    mira.guardianships.create(guardian=second)
    own, there = client_for(cast.athlete), client_for(cast.athlete)
    OutgoingMail.objects.bulk_create([written_mail(cast.athlete.email, "A", "B")])
    parent = client_for(cast.guardian)
    assert "End it" in text(parent.get(page(mira)))
    assert "is ended" in text(end(parent, mira))
    for browser in (own, there):
        assert browser.get(reverse("program:home")).status_code == 302
    assert not User.objects.filter(pk=cast.athlete.pk).exists()
    mira.refresh_from_db()
    assert mira.user is None
    work_off()
    assert sorted(to for mail in mailoutbox for to in mail.to) == sorted(
        [cast.athlete.email, second.email, cast.coach.email]
    )
    assert "Own Parent" in mailoutbox[0].body
    assert "stays" in text(parent.get(page(mira)))


def test_what_was_said_by_it_stays_without_its_name(cast, mira, client_for):
    concern = Concern.objects.create(
        text="So.", by=cast.athlete, reporter="Young Athlete", reported_at=timezone.now()
    )
    question = Question.objects.create(
        child=mira, text="How?", asked_by=cast.athlete, asked_at=timezone.now()
    )
    end(client_for(cast.guardian), mira)
    concern.refresh_from_db()
    question.refresh_from_db()
    assert (concern.by, concern.reporter) == (None, "Young Athlete")
    assert (question.asked_by, question.text) == (None, "How?")


def test_a_guardian_begins_it_anew_with_another_address_and_asks_nobody(
    cast, mira, client_for, client, mailoutbox
):
    parent = client_for(cast.guardian)
    end(parent, mira)
    work_off()
    mailoutbox.clear()
    assert "gets a mail with a link" in text(start(parent, mira))
    work_off()
    (mail,) = invitations_in(mailoutbox)
    assert mail.to == ["mira@x.example"]
    assert cast.coach.email in {to for each in mailoutbox for to in each.to}
    assert come_in(client, link_in(mail), "Mira").status_code == 302
    mira.refresh_from_db()
    assert mira.user.email == "mira@x.example"
    assert Invitation.objects.get().agreed_by == cast.guardian


def test_nobody_else_ends_or_begins_it(cast, mira, client_for):
    people = (cast.athlete, cast.coach, cast.head_coach, cast.other_guardian)
    for do in (end, start):
        for person in people:
            assert do(client_for(person), mira).status_code == 404, person
    assert User.objects.filter(pk=cast.athlete.pk).exists()
    assert not Invitation.objects.exists()


def test_what_a_head_coach_has_switched_off_no_guardian_ends_or_begins(cast, mira, client_for):
    User.objects.filter(pk=cast.athlete.pk).update(is_active=False)
    parent = client_for(cast.guardian)
    assert "was switched off by a head coach" in text(parent.get(page(mira)))
    end(parent, mira)
    start(parent, mira)
    assert User.objects.filter(pk=cast.athlete.pk).exists()
    assert not Invitation.objects.exists()


def test_it_begins_at_the_age_the_program_sets_and_with_an_address_of_its_own(
    cast, teenager, client_for
):
    parent = client_for(cast.guardian)
    assert "already signs in" in errors_of(start(parent, teenager, cast.guardian.email))
    Child.objects.update(birth_date=dt.date(2013, 11, 5))
    assert "from the age of 13" in text(start(parent, teenager))
    assert not Invitation.objects.exists()


def test_from_18_on_no_guardian_ends_it(cast, mira, client_for):
    Child.objects.update(birth_date=dt.date(2008, 11, 4))
    end(client_for(cast.guardian), mira)
    assert User.objects.filter(pk=cast.athlete.pk).exists()
    assert end(client_for(cast.athlete), mira).status_code == 404
