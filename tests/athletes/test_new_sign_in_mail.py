"""Who signs in with a browser that was not used for it before gets a mail that says so."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import Invitation, OutgoingMail, SignIn, User
from tests.athletes.test_sign_ins import enter_the_code, is_signed_in
from tests.support.invitations import come_in
from tests.support.work import work_off

pytestmark = pytest.mark.django_db

FIREFOX = {"User-Agent": "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Firefox/140.0"}
SUBJECT = "A new sign-in to Fledge"


@pytest.fixture
def parent(cast) -> User:
    """Who has signed in before, somewhere."""
    User.objects.filter(pk=cast.guardian.pk).update(last_login=timezone.now())
    return cast.guardian


def sign_in(browser: Client, person: User) -> None:
    browser.post(reverse("account_login"), {"email": person.email}, follow=True)
    enter_the_code(browser)
    assert is_signed_in(browser)
    work_off()  # so that a next code is the last mail


def told(mailoutbox) -> list:
    work_off()
    return [mail for mail in mailoutbox if mail.subject == SUBJECT]


def test_a_browser_not_seen_before_is_told_of_with_when_which_and_where_to_sign_out(
    parent, cast, mailoutbox
):
    sign_in(Client(headers=FIREFOX), parent)
    (mail,) = told(mailoutbox)
    assert mail.to == [parent.email]
    assert "Firefox on Linux" in mail.body
    assert f"http://testserver{reverse('athletes:sign_ins')}" in mail.body
    assert timezone.localtime().strftime("%Y, %H:%M") in mail.body
    assert cast.child.given_name not in mail.body


def test_the_same_browser_is_told_of_once_and_another_person_in_it_by_themself(
    parent, cast, mailoutbox
):
    browser = Client(headers=FIREFOX)
    sign_in(browser, parent)
    browser.post(reverse("account_logout"))
    sign_in(browser, parent)
    assert len(told(mailoutbox)) == 1
    User.objects.update(last_login=timezone.now())
    for person in (cast.coach, parent):
        browser.post(reverse("account_logout"))
        sign_in(browser, person)
    assert [mail.to for mail in told(mailoutbox)] == [[parent.email], [cast.coach.email]]


def test_the_very_first_sign_in_of_an_account_is_told_to_nobody(cast, client, mailoutbox):
    browser = Client(headers=FIREFOX)
    sign_in(browser, cast.nobody)
    assert told(mailoutbox) == []
    sign_in(Client(headers=FIREFOX), cast.nobody)
    assert len(told(mailoutbox)) == 1


def test_who_came_in_by_an_invitation_is_known_there(cast, client, mailoutbox):
    _, token = Invitation.objects.invite("aunt@x.example", "guardian", cast.coach, cast.child)
    come_in(client, reverse("athletes:accept", args=[token]), "Aunt")
    client.post(reverse("account_logout"))
    sign_in(client, User.objects.get(name="Aunt"))
    assert told(mailoutbox) == []


def test_what_a_browser_makes_up_is_no_sign_of_having_been_here(parent, mailoutbox):
    browser = Client()
    for made_up in ("x" * 32, "a.b.c", "\u00e9"):
        browser.cookies["known"] = made_up
        sign_in(browser, parent)
        browser.cookies.clear()
    assert len(told(mailoutbox)) == 3


def test_the_mail_is_written_with_the_sign_in_or_neither_is(parent, monkeypatch):
    def fail(*args, **more):
        raise ZeroDivisionError

    browser = Client(raise_request_exception=False)
    browser.post(reverse("account_login"), {"email": parent.email}, follow=True)
    work_off()
    monkeypatch.setattr("athletes.session_store.send_after_commit", fail)
    enter_the_code(browser)
    assert not SignIn.objects.filter(user=parent).exists()
    assert not OutgoingMail.objects.filter(subject=SUBJECT).exists()
