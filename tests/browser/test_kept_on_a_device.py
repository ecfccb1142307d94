"""A phone and a tablet come back with what they had kept before the modules moved."""

import re
from types import SimpleNamespace
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from program.models import Completion, PainReport, Question, Submission
from tests.support.kept_from_before import BEFORE, as_before
from tests.support.requests import all_answered
from tests.support.screens import WITH_A_WORKER, until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PUT_BACK = """async ({ local, outbox, caches: kept }) => {
  for (const [key, value] of Object.entries(local)) localStorage.setItem(key, value);
  for (const [name, address] of kept) {
    const cache = await caches.open(name);
    await cache.put(address, new Response("as it was"));
  }
  if (outbox.length === 0) return;
  await new Promise((done) => {
    const opening = indexedDB.open("fledge", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("outbox", { keyPath: "id" });
    opening.onsuccess = () => {
      const transaction = opening.result.transaction("outbox", "readwrite");
      for (const item of outbox) transaction.objectStore("outbox").put(item);
      transaction.oncomplete = () => { opening.result.close(); done(); };
    };
  });
}"""
LEFT_TO_SEND = """() => new Promise((done) => {
  const opening = indexedDB.open("fledge", 1);
  opening.onsuccess = () => {
    const all = opening.result.transaction("outbox").objectStore("outbox").count();
    all.onsuccess = () => { opening.result.close(); done(all.result); };
  };
})"""


@pytest.fixture
def before(db, settings, monkeypatch) -> SimpleNamespace:
    return as_before(settings, monkeypatch)


@pytest.fixture
def phone(before, browse) -> Page:
    return browse(before.guardian, **WITH_A_WORKER)


@pytest.fixture
def tablet(before, browse) -> Page:
    return browse(before.coach, **WITH_A_WORKER)


def put_back(page: Page, local: dict[str, str], outbox: Any = (), caches: Any = ()) -> None:
    """What a device held, before any page of ours is opened on it."""
    page.goto(BEFORE["offline"]["family"]["worker"])  # of our origin, and runs nothing
    page.evaluate(PUT_BACK, {"local": local, "outbox": list(outbox), "caches": list(caches)})


def keys_kept(page: Page) -> set[str]:
    return set(page.evaluate("Object.keys(localStorage)"))


def open_at(page: Page, name: str, *ids: object) -> None:
    page.goto(reverse(f"program:{name}", args=ids))


def test_what_waited_on_a_phone_is_sent_by_the_next_page_and_written_once(phone, before):
    told = BEFORE["phone"]
    with all_answered(phone):
        put_back(phone, told["in_a_session"], told["outbox"])
        open_at(phone, "child_day", before.child.public_id)
        phone.wait_for_selector("html[data-kept]")
        expect(phone.locator("[data-waiting]")).to_be_hidden()
        until(lambda: phone.evaluate(LEFT_TO_SEND) == 0)
        assert {str(each.pk) for each in Submission.objects.all()} == {
            item["id"] for item in told["outbox"]
        }
    logs = Completion.objects.filter(assigned_session__in=[before.at_home, before.logged])
    assert sorted(logs.values_list("effort", flat=True)) == [5, 8]
    assert str(PainReport.objects.get()) == "left knee, 2 of 10"
    assert Question.objects.get().text == "Is a stool low enough?"


def test_a_phone_finds_its_place_in_a_session_and_how_its_family_likes_it(phone, before):
    told = BEFORE["phone"]["in_a_session"]
    with all_answered(phone):
        put_back(phone, told)
        open_at(phone, "follow", before.child.public_id, before.at_home.public_id)
        expect(phone.locator("[data-again]")).to_contain_text("Step down from a book")
        assert phone.locator("[name=sound]:checked").input_value() == "off"
        assert keys_kept(phone) == told.keys()


def test_a_groups_log_saved_on_a_tablet_is_sent_by_the_next_page(tablet):
    with all_answered(tablet):
        put_back(tablet, BEFORE["tablet"]["saved"])
        open_at(tablet, "week")
        tablet.wait_for_function("() => Object.keys(localStorage).join() === 'fledge-owner'")
    logs = Completion.objects.filter(assigned_session__session=910_030)
    assert sorted(logs.values_list("effort", flat=True)) == [6, 7]
    assert str(PainReport.objects.get()) == "right ankle, 3 of 10"


def test_what_was_tapped_on_a_tablet_and_not_saved_is_there_again(tablet, before):
    told = BEFORE["tablet"]["tapped"]
    with all_answered(tablet):
        put_back(tablet, told)
        open_at(tablet, "group_log", 910_030)
        line = before.child.public_id
        expect(tablet.locator(f"[name='{line}-effort'][value='6']")).to_be_checked()
        expect(tablet.locator(f"[name='{line}-hurt_region']")).to_have_value("ankle")
        note = tablet.locator("[name=session_note]")
        expect(note).to_have_value("Cold hall, so we ran first.")
        assert keys_kept(tablet) == told.keys()


def test_the_pages_that_a_worker_of_then_had_kept_are_let_go_for_those_of_today(phone, before):
    """By their names: under others they would stay on the phone for ever, whoever has it next."""
    release, signed_in = "0123456789abcdef", "0123456789abcdef0123"
    then = [
        (f"fledge-assets-{release}", "/static/css/base.css"),
        (f"fledge-pages-{release}-{signed_in}", "/family/"),
    ]
    with all_answered(phone):
        put_back(phone, {}, caches=then)
        open_at(phone, "child_day", before.child.public_id)
        phone.wait_for_selector("html[data-kept]")
        names = sorted(phone.evaluate("caches.keys()"))
        assert len(names) == 3
        assert re.fullmatch("fledge-assets-[0-9a-f]{16}", names[0])
        assert re.fullmatch("fledge-pages-[0-9a-f]{16}-[0-9a-f]{20}", names[1])
        assert names[2] == "fledge-who"
        assert not set(names) & {name for name, _ in then}
