"""Pressing Back on a shared phone after somebody has signed out: where the browser kept the page in
memory, as phones do, and where it has only what it fetched."""

from collections.abc import Iterator

import pytest
from django.urls import reverse
from playwright.sync_api import BrowserType, Page, expect

from tests.support.chromium import WITH_WINDOWS
from tests.support.requests import all_answered

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


# Playwright switches a browser's memory of pages off, and the shell has none.
REMEMBERING = {
    "executable_path": WITH_WINDOWS,
    "ignore_default_args": ["--disable-back-forward-cache"],
}


@pytest.fixture(params=[REMEMBERING, {}], ids=["remembering", "forgetful"])
def phone(
    request: pytest.FixtureRequest,
    browser_type: BrowserType,
    browser_type_launch_args: dict,
    cast,
    sign_in,
    live_server,
) -> Iterator[Page]:
    """A guardian's, signed in."""
    browser = browser_type.launch(**browser_type_launch_args | request.param)
    context = browser.new_context(base_url=live_server.url)
    sign_in(context, cast.guardian)
    page = context.new_page()
    with all_answered(page):
        page.goto(reverse("program:child_day", args=[cast.child.public_id]))
        page.wait_for_selector("html[data-kept]")
        yield page
    browser.close()


def sign_out(page: Page) -> None:
    page.locator(".menu > summary").last.click()
    page.get_by_role("button", name="Sign out").click()


def back(page: Page) -> None:
    """As the button does it: `go_back` waits for a page to load, and one in memory does not. Not
    within the call, whose answer the page that leaves would take along."""
    with page.expect_event("framenavigated"):
        page.evaluate("setTimeout(() => history.back())")


@pytest.mark.parametrize("phone", [REMEMBERING], ids=["remembering"], indirect=True)
def test_going_back_shows_the_page_as_it_was_left_to_whoever_is_still_signed_in(phone, cast):
    phone.evaluate("window.isTheSame = true")
    phone.goto(reverse("program:calendar_address"))
    back(phone)
    phone.wait_for_function("window.isTheSame")


def test_nobody_goes_back_to_a_child_after_signing_out(phone: Page, cast):
    sign_out(phone)
    expect(phone.get_by_role("heading", name="Sign in")).to_be_visible()
    back(phone)
    expect(phone.get_by_role("heading", name="Sign in")).to_be_visible()
    assert "Mira" not in phone.content()


def test_nor_after_signing_out_without_a_connection(phone: Page, cast):
    phone.context.set_offline(True)
    sign_out(phone)
    expect(phone.get_by_role("heading", name="No connection")).to_be_visible()
    back(phone)
    expect(phone.get_by_role("heading", name="No connection")).to_be_visible()
    assert "Mira" not in phone.content()
