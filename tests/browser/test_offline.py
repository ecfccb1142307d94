"""A phone without a connection: what it still does, what it keeps, and for whom."""

import datetime as dt
from collections.abc import Iterator

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from athletes.models import User
from program.models import AssignedSession, Completion, Erasure, PainReport, Question, Submission
from program.privacy.erasing import confirm
from program.review.logged_sessions import Returns
from tests.support.factories import CompletionFactory
from tests.support.following import step_and_hold, tap
from tests.support.requests import all_answered
from tests.support.screens import until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def today() -> dt.date:
    return timezone.localdate()


@pytest.fixture
def session(cast, today) -> AssignedSession:
    return step_and_hold(cast.child, cast.other_child, today)


@pytest.fixture
def phone(
    page: Page, context: BrowserContext, cast, sign_in, live_server, session
) -> Iterator[Page]:
    """The guardian's phone after one visit with a connection: the week is kept on it."""
    sign_in(context, cast.guardian)
    with all_answered(page):
        visit(page, live_server.url + reverse("program:child_day", args=[cast.child.public_id]))
        yield page


def visit(page: Page, address: str) -> None:
    page.goto(address)
    page.wait_for_selector("html[data-kept]", timeout=20_000)


def path_of(session: AssignedSession, name: str = "follow") -> str:
    return reverse(f"program:{name}", args=[session.child.public_id, session.public_id])


def do_whole_session(page: Page) -> None:
    """With one easier choice on the left side, and the change to the right side."""
    tap(page, "Start")
    page.clock.run_for(12_000)
    tap(page, "Easier, please")
    expect(page.locator("h1")).to_have_text("Step down from a book")
    page.clock.run_for(22_000)
    expect(page.locator("[data-side]")).to_contain_text("right")
    page.clock.run_for(100_000)
    page.locator(".pick-effort").get_by_text("proper work").click()
    tap(page, "Save the log")


def test_a_whole_session_in_flight_mode_reaches_the_coach_once(
    phone: Page, context: BrowserContext, cast, live_server, session, today
):
    context.set_offline(True)
    phone.clock.install(time=timezone.now())
    phone.goto(live_server.url + path_of(session))
    do_whole_session(phone)
    expect(phone.locator("[data-saved]")).to_contain_text("sent as soon as there is a connection")
    expect(phone.locator("[data-waiting]")).to_contain_text("an easier choice")
    expect(phone.locator("[data-waiting]")).to_contain_text("the log")
    assert not Completion.objects.exists()

    context.set_offline(False)
    expect(phone.locator("[data-waiting]")).to_be_hidden(timeout=10_000)
    phone.goto(live_server.url + path_of(session, "session_day"))
    expect(phone.get_by_text("Logged: done, effort 5 of 10")).to_be_visible()
    seen = list(Returns(cast.coach, today).logged)
    assert [each.completion.effort for each in seen] == [5]
    log = Completion.objects.get()
    assert log.done_on == today
    result = log.results.get(took_easier=True)
    assert (result.amount_left, result.amount_right) == (3, 3)
    kinds = sorted(Submission.objects.values_list("kind", "state"))
    assert kinds == [("easier", "written"), ("log", "written"), ("started", "written")]


def test_pain_told_in_flight_mode_waits_and_is_told_later(
    phone: Page, context: BrowserContext, live_server, session
):
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session))
    tap(phone, "Start")
    tap(phone, "Something hurts")
    for group, answer in [("Where", "knee"), ("Which side", "left"), ("How much", "7")]:
        phone.get_by_role("group", name=group).get_by_text(answer, exact=True).click()
    tap(phone, "Tell the coach")
    expect(phone.locator("[data-told]")).to_contain_text("as soon as there is")
    expect(phone.get_by_text("see a doctor or physiotherapist")).to_be_visible()
    context.set_offline(False)
    expect(phone.locator("[data-waiting]")).to_be_hidden(timeout=10_000)
    assert PainReport.objects.get().level == 7


def test_the_answer_got_lost_and_the_log_is_sent_again_and_written_once(
    phone: Page, live_server, session
):
    lost = []

    def swallow(route):
        if '"kind":"log"' not in route.request.post_data:
            route.continue_()
            return
        route.fetch()  # it arrives, and the answer does not come back
        lost.append(route.request.url)
        route.abort()

    phone.clock.install(time=timezone.now())
    phone.goto(live_server.url + path_of(session))
    phone.route("**/inbox/", swallow)
    do_whole_session(phone)
    expect(phone.locator("[data-saved]")).to_contain_text("as soon as there is a connection")
    expect(phone.locator("[data-waiting]")).to_contain_text("the log")
    assert lost
    assert Completion.objects.get().effort == 5
    phone.unroute("**/inbox/")
    phone.goto(live_server.url + path_of(session, "session_day"))
    expect(phone.get_by_text("Logged: done, effort 5 of 10")).to_be_visible()
    expect(phone.locator("[data-waiting]")).to_be_hidden(timeout=10_000)
    assert Completion.objects.get().edited_at is None
    assert Submission.objects.filter(kind="log").count() == 1


def test_the_log_page_keeps_a_log_without_a_connection_with_the_day_it_was_on_the_phone(
    phone: Page, context: BrowserContext, live_server, session, today
):
    yesterday = timezone.now() - dt.timedelta(days=1)
    phone.clock.set_fixed_time(yesterday)  # a day on which it had none, either
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session, "log"))
    phone.locator(".pick-effort").get_by_text("proper work").click()
    tap(phone, "Save the log")
    expect(phone.locator("[data-waiting]")).to_contain_text("Waiting for a connection: the log")
    context.set_offline(False)
    expect(phone.locator("[data-waiting]")).to_be_hidden(timeout=10_000)
    log = Completion.objects.get()
    assert (log.effort, log.done_on) == (5, today - dt.timedelta(days=1))


def pretend_to_be_online(page: Page) -> None:
    """As a phone does on a line that carries nothing."""
    page.evaluate("Object.defineProperty(navigator, 'onLine', { get: () => true })")


def test_a_line_that_carries_nothing_loses_no_log(
    phone: Page, context: BrowserContext, live_server, session
):
    phone.goto(live_server.url + path_of(session, "log"))
    context.set_offline(True)
    pretend_to_be_online(phone)
    phone.locator(".pick-effort").get_by_text("proper work").click()
    tap(phone, "Save the log")
    expect(phone.locator("[data-waiting]")).to_contain_text("Waiting for a connection: the log")
    context.set_offline(False)
    expect(phone.locator("[data-waiting]")).to_be_hidden(timeout=10_000)
    assert Completion.objects.get().effort == 5


def test_a_log_changed_after_it_was_sent_by_itself_is_not_taken_for_the_one_already_written(
    phone: Page, context: BrowserContext, live_server, session
):
    phone.goto(live_server.url + path_of(session, "log"))
    waiting = phone.locator("[data-waiting]")
    for words in ["proper work", "very hard"]:
        context.set_offline(True)
        phone.locator(".pick-effort").get_by_text(words).click()
        tap(phone, "Save the log")
        expect(waiting).to_contain_text("Waiting for a connection: the log")
        context.set_offline(False)
        expect(waiting).not_to_contain_text("Waiting for a connection")
    expect(waiting).to_contain_text("You have logged this session already: done, effort 5")
    assert Submission.objects.undecided().get().payload["effort"] == "8"


def test_a_question_written_without_a_connection_is_asked_later_and_without_its_photo(
    phone: Page, context: BrowserContext, live_server, session
):
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session, "ask"))
    phone.locator("[name=text]").fill("Is a stool low enough?")
    picture = {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"a photo"}
    phone.locator("[name=upload]").set_input_files(picture)
    tap(phone, "Ask")
    expect(phone.locator("[data-left-out]")).to_contain_text("it needs a connection")
    expect(phone.locator("[data-waiting]")).to_contain_text("a question")
    context.set_offline(False)
    expect(phone.locator("[data-waiting]")).to_be_hidden(timeout=10_000)
    question = Question.objects.get()
    assert (question.text, question.upload) == ("Is a stool low enough?", "")


def test_the_other_parent_logged_meanwhile_and_neither_log_is_lost(
    phone: Page, context: BrowserContext, cast, client_for, live_server, session
):
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session, "log"))
    phone.locator(".pick-effort").get_by_text("proper work").click()
    tap(phone, "Save the log")
    CompletionFactory(
        assigned_session=session,
        state="some",
        effort=9,
        logged_at=timezone.now(),
        logged_by=cast.athlete,
    )
    context.set_offline(False)
    waiting = phone.locator("[data-waiting]")
    expect(waiting).to_contain_text("Young Athlete has logged this session", timeout=10_000)
    assert Completion.objects.get().effort == 9
    assert Submission.objects.undecided().get().payload["effort"] == "5"
    tap(phone, "I have read it")
    expect(waiting).to_be_hidden()


def test_what_the_server_refuses_stays_on_the_phone_with_the_reason(
    phone: Page, context: BrowserContext, live_server, session
):
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session, "log"))
    phone.locator("[name=minutes]").fill("999")
    tap(phone, "Save the log")
    context.set_offline(False)
    expect(phone.locator("[data-waiting]")).to_contain_text(
        "between 1 and 240 minutes", timeout=10_000
    )
    assert not Completion.objects.exists()


def test_a_page_that_is_not_kept_says_what_is(
    phone: Page, context: BrowserContext, cast, live_server
):
    context.set_offline(True)
    phone.goto(live_server.url + reverse("program:invite_guardian", args=[cast.child.public_id]))
    expect(phone.get_by_role("heading", name="No connection")).to_be_visible()
    phone.get_by_role("link", name="This week’s sessions").click()
    expect(phone.get_by_text("No connection. This page is as it was")).to_be_visible()


def kept_caches(page: Page) -> list[str]:
    return page.evaluate("caches.keys().then(names => names.filter(n => n.includes('pages')))")


def test_signing_out_wipes_what_was_kept(
    phone: Page, context: BrowserContext, live_server, session
):
    phone.goto(live_server.url + path_of(session))
    tap(phone, "Start")
    phone.goto(live_server.url + path_of(session, "session_day"))
    assert len(kept_caches(phone)) == 1
    phone.locator(".menu > summary").last.click()
    tap(phone, "Sign out")
    phone.wait_for_url("**/sign-in/**")
    assert kept_caches(phone) == []
    assert phone.evaluate("Object.keys(localStorage).filter(k => k.includes('place'))") == []
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session))
    expect(phone.get_by_role("heading", name="No connection")).to_be_visible()


def test_signing_out_without_a_connection_wipes_it_too(
    phone: Page, context: BrowserContext, live_server, session
):
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session, "session_day"))
    phone.locator(".menu > summary").last.click()
    tap(phone, "Sign out")
    expect(phone.get_by_role("heading", name="No connection")).to_be_visible()
    assert kept_caches(phone) == []


def test_a_shared_phone_never_shows_one_familys_child_to_another(
    phone: Page, context: BrowserContext, cast, sign_in, live_server, session, today
):
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session, "log"))
    tap(phone, "Save the log")  # waits, and is this family's business alone
    expect(phone.locator("[data-waiting]")).to_be_visible()
    context.set_offline(False)
    context.clear_cookies()
    sign_in(context, cast.other_guardian)
    phone.route("**/inbox/", lambda route: route.abort())
    theirs = reverse("program:child_day", args=[cast.other_child.public_id])
    visit(phone, live_server.url + theirs)
    assert len(kept_caches(phone)) == 1
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session))
    expect(phone.get_by_role("heading", name="No connection")).to_be_visible()
    phone.goto(live_server.url + theirs)
    expect(phone.get_by_text("Ivo").first).to_be_visible()
    expect(phone.locator("[data-waiting]")).to_be_hidden()
    assert "Mira" not in phone.content()


def test_an_unsent_report_outlives_signing_out_and_is_sent_when_its_own_family_is_back(
    phone: Page, context: BrowserContext, cast, sign_in, live_server, session
):
    phone.goto(live_server.url + path_of(session))
    phone.route("**/inbox/", lambda route: route.abort())
    tap(phone, "Start")
    tap(phone, "Something hurts")
    for group, answer in [("Where", "knee"), ("Which side", "left"), ("How much", "3")]:
        phone.get_by_role("group", name=group).get_by_text(answer, exact=True).click()
    tap(phone, "Tell the coach")
    expect(phone.locator("[data-told]")).to_contain_text("as soon as there is")
    phone.goto(live_server.url + path_of(session, "session_day"))
    phone.locator(".menu > summary").last.click()
    tap(phone, "Sign out")
    phone.wait_for_url("**/sign-in/**")

    sign_in(context, cast.other_guardian)
    theirs = reverse("program:child_day", args=[cast.other_child.public_id])
    phone.goto(live_server.url + theirs)
    expect(phone.get_by_text("Ivo").first).to_be_visible()
    expect(phone.locator("[data-waiting]")).to_be_hidden()
    assert not PainReport.objects.exists()

    context.clear_cookies()
    sign_in(context, cast.guardian)
    phone.unroute("**/inbox/")
    own_day = reverse("program:child_day", args=[cast.child.public_id])
    with phone.expect_response(lambda each: "knee" in (each.request.post_data or "")):
        phone.goto(live_server.url + own_day)
    report = PainReport.objects.get()
    assert (report.child, report.level) == (cast.child, 3)


def test_a_phone_without_room_says_so_and_still_works(
    page: Page, context: BrowserContext, cast, sign_in, live_server, session
):
    """The worker is told that the cache is full; what has a connection goes on working."""
    sign_in(context, cast.guardian)
    full = "Cache.prototype.put = async () => { throw new DOMException('', 'QuotaExceededError') };"
    context.route(
        "**/worker.js",
        lambda route: route.fulfill(
            body=route.fetch().text() + f"\nkeepFiles = async () => {{}}; {full}",
            content_type="text/javascript",
        ),
    )
    with all_answered(page):
        day = reverse("program:child_day", args=[cast.child.public_id])
        page.goto(live_server.url + day)
        expect(page.get_by_text("no room to keep the week’s sessions")).to_be_visible(
            timeout=15_000
        )
        page.goto(live_server.url + path_of(session))
        tap(page, "Start")
        expect(page.locator("h1")).to_have_text("Slow step down")


def test_a_new_release_takes_over_and_keeps_all_anew(
    phone: Page, context: BrowserContext, live_server, session, monkeypatch
):
    before = kept_caches(phone)
    monkeypatch.setattr("program.family.offline.release", lambda: "the-next-release")
    phone.goto(live_server.url + path_of(session, "session_day"))
    for _ in range(200):
        names = phone.evaluate("caches.keys()")
        if not any(before[0].split("-")[2] in name for name in names):
            break
        phone.wait_for_timeout(100)
    assert [name.startswith("fledge-pages-the-next-release") for name in kept_caches(phone)] == [
        True
    ]
    context.set_offline(True)
    phone.goto(live_server.url + path_of(session))
    tap(phone, "Start")
    expect(phone.locator("h1")).to_have_text("Slow step down")


HELD = """async (child) => {
  const held = Object.entries(localStorage).filter((entry) => entry.join().includes(child));
  for (const name of await caches.keys())
    for (const { url } of await (await caches.open(name)).keys())
      if (url.includes(child)) held.push([name, url]);
  return held.map(([name]) => name.replace(/-.*/, ""));
}"""
KEEP_OF = """([child, session]) => {
  const owner = localStorage.getItem("fledge-owner");
  const report = JSON.stringify([{ id: "1", region: "knee", isWarning: false }]);
  localStorage.setItem(`fledge-sore-${owner}-${child}`, report);
  localStorage.setItem(`fledge-place-${owner}-${session}`, JSON.stringify({ child }));
}"""


def test_a_child_that_is_the_familys_no_more_leaves_nothing_on_its_phone(
    phone: Page, cast, live_server, session, settings, tmp_path
):
    """First a guardian is removed from one of two children, then the other is erased, and with it
    the account."""
    settings.BACKUPS_DIR = tmp_path
    stays, goes = cast.child, cast.other_child
    goes.guardianships.create(guardian=cast.guardian)
    home = live_server.url + reverse("program:child_day", args=[stays.public_id])
    visit(phone, home)
    for child in (stays, goes):
        has = child.assigned.first()
        phone.evaluate(KEEP_OF, [str(child.public_id), str(has.public_id)])
        assert len(phone.evaluate(HELD, str(child.public_id))) > 3

    goes.guardianships.filter(guardian=cast.guardian).delete()
    visit(phone, home)
    until(lambda: not phone.evaluate(HELD, str(goes.public_id)))
    assert len(phone.evaluate(HELD, str(stays.public_id))) > 3

    asked = Erasure.objects.create(
        child=stays, why="asked", asked_by=cast.guardian, asked_at=timezone.now()
    )
    confirm(asked, cast.head_coach, timezone.now())
    assert not User.objects.filter(pk=cast.guardian.pk).exists()
    phone.goto(home)
    expect(phone.get_by_role("heading", name="Sign in")).to_be_visible()
    until(lambda: not phone.evaluate(HELD, str(stays.public_id)))
