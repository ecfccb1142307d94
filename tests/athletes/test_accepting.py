"""Who holds an invitation's link, and what it opens for whom."""

import re

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import Child, Guardianship, Invitation, Role, RoleChange, SignIn, User
from athletes.models.invitations import InvitationRefused
from tests.support.children_pages import assert_well_made, text
from tests.support.factories import ChildFactory, UserFactory
from tests.support.invitations import agreed, open_link
from tests.support.roles import now_is
from tests.support.work import work_off

pytestmark = pytest.mark.django_db


def invite(cast, email, role="guardian", child=None, **more) -> tuple[Invitation, str]:
    child = None if role in {"coach", "head_coach"} else child or cast.child
    invited, token = Invitation.objects.invite(email, role, cast.head_coach, child, **more)
    if role == "athlete":
        token = invited.agree(cast.guardian, timezone.now())
    return invited, agreed(invited) if invited.is_by_two else token


def accept(client, name=""):
    return client.post(reverse("athletes:invitation"), {"name": name})


def who_is_in(client) -> str:
    key = client.session.get("_auth_user_id")
    return User.objects.get(pk=key).name if key else ""


# The link


def test_the_token_leaves_the_address_at_once(cast, client):
    _, token = invite(cast, "new@example.org")
    answer = client.get(reverse("athletes:accept", args=[token]))
    assert answer.headers["location"] == reverse("athletes:invitation")
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert "no-store" in answer.headers["cache-control"]
    page = client.get(answer.headers["location"])
    assert_well_made(page)
    assert token not in page.content.decode()
    assert "no-store" in page.headers["cache-control"]


def test_what_only_looks_at_a_link_uses_nothing_up(cast, client):
    invited, token = invite(cast, "new@example.org")
    for scanner in (Client(), Client()):
        open_link(scanner, token)
        scanner.post(reverse("athletes:accept", args=[token]), {"name": "Scanner"})
    invited.refresh_from_db()
    assert invited.used_at is None
    open_link(client, token)
    assert accept(client, "New Parent").status_code == 302
    assert who_is_in(client) == "New Parent"


def test_without_an_opened_link_the_page_says_where_to_find_it(client):
    address = reverse("athletes:invitation")
    assert "Open the link in your mail" in text(client.get(address))
    assert "Open the link in your mail" in text(client.post(address, {"name": "A"}, follow=True))


def test_a_link_that_was_used_or_withdrawn_says_so(cast, client):
    for n, ending in enumerate([{"used_at": timezone.now()}, {"withdrawn_at": timezone.now()}]):
        invited, token = invite(cast, f"new{n}@example.org")
        Invitation.objects.filter(pk=invited.pk).update(**ending)
        assert "does not work any more" in text(open_link(client, token))
        answer = accept(client, "New Parent")
        assert answer.status_code == 409
        assert "does not work any more" in text(answer)
    assert not User.objects.filter(name="New Parent").exists()


# Whose account


def test_a_link_signs_nobody_in_who_has_an_account(cast, client):
    """One mailed to a head coach's address opened the people page to whoever held it."""
    _, token = invite(cast, cast.head_coach.email)
    page = open_link(client, token)
    assert "already signs in here" in text(page)
    assert f"{reverse('account_login')}?next={reverse('athletes:invitation')}" in (
        page.content.decode()
    )
    answer = accept(client, "Anybody")
    assert answer.status_code == 409
    assert who_is_in(client) == ""
    assert not cast.child.guardians.filter(pk=cast.head_coach.pk).exists()


def test_whoever_has_an_account_signs_in_by_code_and_then_accepts(cast, client, mailoutbox):
    aunt = UserFactory(name="Aunt")
    _, token = invite(cast, aunt.email)
    open_link(client, token)
    there = reverse("athletes:invitation")
    client.post(reverse("account_login"), {"email": aunt.email, "next": there})
    work_off()
    (code,) = re.findall(r"^\s*([A-Z0-9]{4,}-?[A-Z0-9]*)\s*$", mailoutbox[-1].body, re.M)
    answer = client.post(reverse("account_confirm_login_code"), {"code": code, "next": there})
    assert answer.headers["location"] == there
    assert who_is_in(client) == "Aunt"
    assert not cast.child.guardians.filter(pk=aunt.pk).exists()
    assert_well_made(client.get(there))
    assert accept(client).status_code == 302
    assert cast.child.guardians.filter(pk=aunt.pk).exists()


def test_an_invitation_for_another_address_is_not_taken_by_who_is_signed_in(cast, client_for):
    aunt = UserFactory(name="Aunt")
    for email in (aunt.email, "new@example.org"):
        _, token = invite(cast, email)
        other = client_for(cast.nobody)
        assert "You are signed in as Nobody Here" in text(open_link(other, token))
        assert accept(other, "New").status_code == 409
        assert who_is_in(other) == "Nobody Here"
    assert list(cast.child.guardians.all()) == [cast.guardian]
    assert not User.objects.filter(email="new@example.org").exists()


def test_somebody_switched_off_does_not_come_in_by_an_invitation(cast, client):
    gone = UserFactory(name="Gone", is_active=False)
    _, token = invite(cast, gone.email)
    assert "switched off" in text(open_link(client, token))
    assert accept(client, "Gone").status_code == 409
    assert not cast.child.guardians.filter(pk=gone.pk).exists()


# Two things that do not go together: answered in words


def without_own_sign_in(cast) -> Child:
    return ChildFactory(given_name="Nils", cohort=cast.cohort, guardian=cast.guardian)


def test_what_does_not_go_together_is_answered_in_words(cast, client_for):
    nils = without_own_sign_in(cast)
    spare = UserFactory(name="Spare Athlete", role="athlete")
    cases = [
        ("athlete", spare, cast.child, "has an own sign-in already"),
        ("athlete", cast.athlete, nils, "another young athlete"),
        ("athlete", cast.guardian, nils, "needs an address of their own"),
        ("athlete", cast.coach, nils, "needs an address of their own"),
        ("guardian", cast.athlete, cast.child, "parent or guardian needs an address of their own"),
        ("guardian", spare, nils, "parent or guardian needs an address of their own"),
        ("coach", cast.athlete, None, "A coach needs an address of their own"),
        ("head_coach", cast.coach, None, "Nobody’s role is changed by an invitation"),
    ]
    for role, person, child, words in cases:
        _, token = invite(cast, person.email, role, child)
        browser = client_for(person)
        assert words in text(open_link(browser, token)), (role, person)
        answer = accept(browser)
        assert (answer.status_code, words in text(answer)) == (409, True), (role, person)
    nils.refresh_from_db()
    assert nils.user is None
    assert list(nils.guardians.all()) == [cast.guardian]
    assert User.objects.get(pk=cast.coach.pk).role == Role.COACH


def test_a_coach_is_invited_to_one_more_cohort(cast, client_for):
    _, token = invite(cast, cast.coach.email, "coach", cohort=cast.other_cohort)
    browser = client_for(cast.coach)
    open_link(browser, token)
    assert accept(browser).status_code == 302
    assert cast.other_cohort.coaches.filter(pk=cast.coach.pk).exists()


def test_a_parent_who_is_invited_coaches_with_the_same_address_and_stays_a_parent(cast, client_for):
    """Two head coaches have agreed to the invitation, and so to the role."""
    elsewhere, browser = client_for(cast.guardian), client_for(cast.guardian)
    invited, token = invite(cast, cast.guardian.email, "coach", cohort=cast.other_cohort)
    page = open_link(browser, token)
    assert_well_made(page)
    assert "You stay a parent here" in text(page)
    assert accept(browser).headers["location"] == reverse("program:home")
    person = User.objects.get(pk=cast.guardian.pk)
    assert person.role == Role.COACH
    assert person.second_factor_counts_from == timezone.now()
    assert list(person.cohorts.all()) == [cast.other_cohort]
    assert list(Child.objects.of_family(person)) == [cast.child]
    invited.refresh_from_db()
    change = RoleChange.objects.get()
    assert (change.was, change.role) == (Role.GUARDIAN, Role.COACH)
    assert (change.asked_by, change.agreed_by) == (cast.head_coach, invited.agreed_by)
    assert who_is_in(browser) == "Own Parent"
    assert "My family" in text(browser.get(reverse("program:home"), follow=True))
    there = elsewhere.get(reverse("program:family")).headers["location"]
    assert there.startswith(reverse("account_login")), "signed in as who they were"
    assert SignIn.objects.filter(user=person).count() == 1


def test_what_else_was_asked_about_the_role_of_who_comes_to_coach_is_over(cast, client_for):
    waiting = RoleChange.objects.create(
        person=cast.guardian, was="guardian", role="head_coach", asked_at=timezone.now()
    )
    _, token = invite(cast, cast.guardian.email, "coach")
    browser = client_for(cast.guardian)
    open_link(browser, token)
    assert accept(browser).status_code == 302
    waiting.refresh_from_db()
    assert waiting.ended_at


def test_an_invitation_to_coach_is_worth_nothing_once_the_role_was_decided_otherwise(
    cast, client_for
):
    _, token = invite(cast, cast.guardian.email, "coach")
    for role in ("coach", "guardian"):
        now_is(cast.guardian, role)
    browser = client_for(cast.guardian)
    assert "decided since" in text(open_link(browser, token))
    assert accept(browser).status_code == 409
    assert User.objects.get(pk=cast.guardian.pk).role == Role.GUARDIAN


def test_a_coach_who_is_invited_as_a_parent_goes_on_coaching_and_is_led_to_the_child(
    cast, client_for
):
    _, token = invite(cast, cast.other_coach.email)
    browser = client_for(cast.other_coach)
    page = open_link(browser, token)
    assert_well_made(page)
    assert "You go on coaching" in text(page)
    assert accept(browser).headers["location"] == reverse("program:family")
    assert User.objects.get(pk=cast.other_coach.pk).role == Role.COACH
    assert list(Child.objects.of_family(cast.other_coach)) == [cast.child]
    assert list(Child.objects.coached_by(cast.other_coach)) == [cast.other_child]


def test_of_two_invitations_to_one_new_address_the_second_asks_to_sign_in(cast, client):
    nils = without_own_sign_in(cast)
    first, _ = invite(cast, "new@example.org")
    _, token = invite(cast, "new@example.org", child=nils)
    open_link(client, token)
    parent = first.accept(timezone.now(), name="New Parent")
    answer = accept(client, "New Parent again")
    assert (answer.status_code, who_is_in(client)) == (409, "")
    assert "already signs in here" in text(answer)
    assert User.objects.filter(email="new@example.org").get() == parent


def test_an_address_that_comes_in_at_this_very_moment_is_answered_in_words(cast, monkeypatch):
    invited, _ = invite(cast, cast.nobody.email)
    monkeypatch.setattr(Invitation, "account", lambda self: None)
    with pytest.raises(InvitationRefused, match="already signs in here"):
        invited.accept(timezone.now(), name="Nobody")


# What the database itself refuses


def test_a_guardian_is_never_the_childs_own_user(cast):
    nils = without_own_sign_in(cast)
    aunt = UserFactory(name="Aunt")
    wrong = [
        lambda: Guardianship.objects.create(child=cast.child, guardian=cast.athlete),
        lambda: Child.objects.filter(pk=nils.pk).update(user=cast.guardian),
        lambda: Child.objects.filter(pk=nils.pk).update(user=aunt),
        lambda: Child.objects.filter(pk=nils.pk).update(user=cast.coach),
        lambda: Guardianship.objects.filter(child=nils).update(guardian=cast.athlete),
    ]
    for write in wrong:
        with pytest.raises(IntegrityError), transaction.atomic():
            write()
