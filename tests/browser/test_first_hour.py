"""The first hour of a new program: from an empty database to a session that was logged and seen."""

import datetime as dt
import re

import pytest
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Page, expect

from program.models import Completion
from tests.support.factories import UserFactory
from tests.support.screens import PHONE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FILE = """given name,family initial,birth date,sex,guardian email
Ada,B,2015-03-02,f,ada.family@example.org
Ben,C,2015-07-21,m,
Cem,D,2014-11-09,x,
"""


@pytest.fixture
def head(db):
    call_command("load_library", verbosity=0)
    return UserFactory(role="head_coach", name="Hanna Head")


def next_step(page: Page, name: str) -> None:
    """Take the step that the page of the one before says comes next."""
    page.locator(".next-step").get_by_role("link", name=name).click()


def add(page: Page, words: str) -> None:
    before = page.locator(".slot").count()
    page.locator("[data-find]").last.fill(words)
    page.keyboard.press("Enter")
    expect(page.locator(".slot")).to_have_count(before + 1)


def make_a_group(page: Page) -> None:
    page.get_by_role("region", name="What comes next").get_by_role("link").first.click()
    page.get_by_label("Name").fill("Otters")
    page.get_by_label("Youngest age").fill("9")
    page.get_by_label("Oldest age").fill("12")
    page.get_by_role("button", name="Save").click()
    next_step(page, "Add children from a file")
    list_csv = {"name": "list.csv", "mimeType": "text/csv", "buffer": FILE.encode()}
    page.set_input_files("input[type=file]", list_csv)
    page.get_by_label("Cohort").select_option(label="Otters")
    page.get_by_role("button", name="Show me the rows").click()
    page.get_by_role("button", name=re.compile("^Add")).click()
    expect(page.locator(".messages")).to_contain_text("3 children")


def know_them(page: Page) -> None:
    next_step(page, "Say what is at home")
    page.get_by_role("button", name="usual home").first.click()
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".next-step")).to_contain_text("2 of 3 not answered.")
    next_step(page, "Place children")
    page.get_by_role("link", name="Place the whole group").click()
    page.get_by_role("button", name=re.compile("Place 3 children")).click()
    expect(page.locator(".next-step")).to_contain_text("Placement: done.")


def plan(page: Page) -> None:
    today = timezone.localdate()
    next_step(page, "Make a block")
    page.get_by_label("Name").fill("Strong feet")
    page.get_by_label("First day").fill(f"{today}")
    page.get_by_label("Last day").fill(f"{today + dt.timedelta(days=27)}")
    page.get_by_role("button", name="Make the block").click()
    page.get_by_role("link", name="Write the first session").click()
    page.get_by_label("Name").fill("First steps")
    page.get_by_role("button", name="Make the session").click()
    page.get_by_role("button", name="straight sets", exact=True).click()
    for words in ("squat", "heel raise", "wall push"):
        add(page, words)


def come_in(phone: Page, link: str) -> None:
    """The parent opens the mail, says a name, and answers what the family is asked."""
    phone.goto(link)
    phone.get_by_label("Your name").fill("Anna B")
    phone.get_by_role("button", name="Come in").click()
    for answer in phone.get_by_text("Yes", exact=True).all():
        answer.click()
    phone.get_by_role("button", name="Keep my answers").click()
    expect(phone.locator(".messages")).to_be_visible()


def do_and_log(phone: Page) -> None:
    phone.goto("/")
    expect(phone.get_by_role("heading", name="First steps")).to_be_visible()
    phone.get_by_role("link", name="Log it").click()
    phone.get_by_role("group", name="How hard was it?").get_by_text("getting warm").click()
    phone.get_by_role("button", name="Save the log").click()
    expect(phone.get_by_text("Effort 4 of 10")).to_be_visible()


def test_from_nothing_to_a_logged_and_reviewed_session(head, browse, mailoutbox, browser):
    page = browse(head)
    page.goto("/")
    make_a_group(page)
    know_them(page)
    plan(page)
    page.get_by_role("button", name=re.compile("Publish to")).click()
    expect(page.locator(".messages")).to_contain_text("Published: 3 children got it.")

    (invitation,) = (mail for mail in mailoutbox if mail.to == ["ada.family@example.org"])
    link = re.search(r"http\S+/invitation/\S+", invitation.body).group()
    phone = browser.new_context(
        viewport=PHONE, service_workers="block", base_url=link.partition("/invitation/")[0]
    ).new_page()
    come_in(phone, link)
    do_and_log(phone)
    phone.context.close()

    page.get_by_role("link", name="Children", exact=True).click()
    page.get_by_role("link", name="Ada B.").first.click()
    expect(page.locator("main")).to_contain_text("Effort 4 of 10")
    page.get_by_role("link", name="This week", exact=True).click()
    expect(page.locator("main")).to_contain_text("1 of 3 logged")
    assert Completion.objects.get().logged_by.name == "Anna B"
