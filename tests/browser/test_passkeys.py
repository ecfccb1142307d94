"""A passkey from a device that Chromium plays itself (its virtual authenticator): made, used alone,
used after the mailed code, and shown once more before an invitation."""

import re

import pytest
from allauth.mfa.models import Authenticator
from django.core import mail
from django.urls import reverse
from playwright.sync_api import Page, expect

from athletes.models import Invitation, User
from tests.support.work import work_off

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def device_of(page: Page) -> None:
    """A phone with a finger on it, whatever it is asked."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": options})


def sign_out(page: Page) -> None:
    page.locator("summary", has_text="Account of").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def mailed_code() -> str:
    work_off()
    return re.findall(r"^\s*([A-Z0-9]{3,}-?[A-Z0-9]*)\s*$", mail.outbox[-1].body, re.M)[0]


def test_a_coach_makes_a_passkey_and_signs_in_with_it_alone_and_after_the_mailed_code(
    browse_faultless, cast
):
    page = browse_faultless(cast.coach)
    device_of(page)
    page.goto(reverse("mfa_index"))
    page.get_by_role("link", name="Add a passkey").click()
    page.get_by_label("Name it").fill("My phone")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    assert Authenticator.objects.get(type="webauthn").user == cast.coach

    sign_out(page)
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("heading", name="This week")).to_be_visible()

    sign_out(page)
    page.get_by_label("Email").fill(cast.coach.email)
    page.get_by_role("button", name="Email me a code").click()
    expect(page.get_by_role("heading", name="Your code")).to_be_visible()
    page.get_by_label("Code").fill(mailed_code())
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="And your second way")).to_be_visible()
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_role("heading", name="This week")).to_be_visible()


def test_a_passkey_is_shown_once_more_before_an_invitation_and_opens_nothing_once_switched_off(
    browse, cast, sign_in
):
    page = browse(cast.coach)
    device_of(page)
    page.goto(reverse("mfa_add_webauthn"))
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()

    page.context.clear_cookies()
    sign_in(page.context, cast.coach)  # in this sign-in it was not shown yet
    page.goto(reverse("athletes:invite_family", args=[cast.child.public_id]))
    page.get_by_label("Email").fill("gran@example.org")
    page.get_by_role("button", name="Send the invitation").click()
    expect(page.get_by_role("heading", name="Once more, please")).to_be_visible()
    assert not Invitation.objects.exists()
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_text("An invitation is on its way to gran@example.org.")).to_be_visible()
    assert Invitation.objects.get().email == "gran@example.org"

    sign_out(page)
    User.objects.filter(pk=cast.coach.pk).update(is_active=False)
    page.get_by_role("button", name="Use a passkey").click()
    expect(page.get_by_text("This passkey does not sign anybody in here.")).to_be_visible()
